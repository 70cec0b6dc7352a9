// What a lesson writes is kept in the browser's own storage, by all lessons of a site together, with a service worker or
// without one. Each lesson has a Python of its own, whose folder is in memory: it is filled from there before Python is
// handed over, and looked at again and again afterwards. Hidden files, and those too large, are nobody's to keep.
const FOLDER = "/home/pyodide";
const STORE = "files";
const LARGEST = 2_000_000;
const EVERY_MS = 400;

export const SITE = new URL("../../", import.meta.url).pathname;

// `beside`: files that a site puts beside its lessons, by name; one of that name that was kept goes before it.
export async function keepFiles(python, beside = {}) {
  const { FS } = python;
  const known = new Map(); // what is in the storage, or came with the site: by name, by what it is told
  const ruled = new Set(); // names that are changed by a rule alone
  const listeners = [];
  let waiting = 0;
  const at = (name) => `${FOLDER}/${name}`;

  function put(name, content) {
    const unfinished = at(`.${name}.brought`);
    FS.writeFile(unfinished, content);
    FS.rename(unfinished, at(name)); // a new file in its place, which nobody takes for the old one
    known.set(name, print(name));
  }
  function takeAway(name) {
    known.delete(name);
    if (FS.analyzePath(at(name)).exists) FS.unlink(at(name));
  }
  function print(name) {
    const found = FS.lstat(at(name));
    const isKept = FS.isFile(found.mode) && found.size <= LARGEST;
    return isKept ? `${found.ino} ${Number(found.mtime)} ${found.size}` : "";
  }

  for (const [name, text] of Object.entries(beside)) put(name, new TextEncoder().encode(text));
  let storage;
  let why = "";
  try {
    storage = await opened();
    for (const [name, content] of await all(storage)) put(name, content);
  } catch (problem) {
    why = String(problem?.message ?? problem);
    storage = undefined;
  }
  const others = storage && new BroadcastChannel(`gearcalc ${SITE}`);
  const told = (name) => { for (const listener of listeners) listener(name); };

  function begun(mode) {
    const transaction = storage.transaction(STORE, mode);
    return [transaction, transaction.objectStore(STORE)];
  }

  // The whole of a change is one transaction, so that of two lessons neither undoes what the other has just kept.
  function change(name, rule, refused) {
    ruled.add(name);
    waiting += 1;
    let mind;
    const end = (problem) => {
      waiting -= 1;
      rule.destroy?.();
      if (problem) refused(String(problem.message ?? problem));
      else others.postMessage(name);
      refused.destroy?.();
      if (!problem) bring(name); // as it is by now: what another kept since may have been told while this one waited
    };
    try {
      const [transaction, store] = begun("readwrite");
      const asked = store.get(name);
      asked.onsuccess = () => {
        try {
          const text = rule(asked.result && new TextDecoder().decode(asked.result));
          store.put(new TextEncoder().encode(text), name);
        } catch (problem) {
          mind = problem;
          transaction.abort();
        }
      };
      transaction.oncomplete = () => end();
      transaction.onabort = () => end(mind ?? transaction.error ?? new Error("not kept"));
    } catch (problem) {
      end(problem);
    }
  }

  function lookAround() {
    const there = new Set();
    for (const name of FS.readdir(FOLDER)) {
      if (name.startsWith(".") || ruled.has(name)) continue;
      const now = print(name);
      if (!now) continue;
      there.add(name);
      if (known.get(name) === now) continue;
      known.set(name, now);
      const content = FS.readFile(at(name)).slice();
      handOn(name, (store) => store.put(content, name));
    }
    for (const name of [...known.keys()]) {
      if (there.has(name) || ruled.has(name)) continue;
      known.delete(name);
      handOn(name, (store) => store.delete(name));
    }
  }
  function handOn(name, act) {
    const [transaction, store] = begun("readwrite");
    act(store);
    transaction.oncomplete = () => others.postMessage(name);
    transaction.onabort = () => console.error(`${name} could not be kept: ${transaction.error}`);
  }

  // Something was kept, by another lesson or by this one.
  function bring(name) {
    if (ruled.has(name) && waiting) return; // the change that waits brings it
    const asked = begun("readonly")[1].get(name);
    asked.onsuccess = () => {
      if (ruled.has(name) && waiting) return;
      if (asked.result) put(name, asked.result);
      else if (known.has(name)) takeAway(name);
      told(name);
    };
  }

  if (storage) {
    others.onmessage = ({ data }) => bring(data);
    setInterval(lookAround, EVERY_MS);
  }
  python.registerJsModule("gearcalc_kept", {
    folder: FOLDER,
    why,
    change,
    listen: (listener) => { listeners.push(listener); },
  });
}

function opened() {
  return new Promise((resolve, reject) => {
    const asked = indexedDB.open(`gearcalc ${SITE}`, 1);
    asked.onupgradeneeded = () => asked.result.createObjectStore(STORE);
    asked.onsuccess = () => resolve(asked.result);
    asked.onerror = () => reject(asked.error);
    asked.onblocked = () => reject(new Error("blocked"));
  });
}

function all(storage) {
  return new Promise((resolve, reject) => {
    const found = [];
    const asked = storage.transaction(STORE).objectStore(STORE).openCursor();
    asked.onsuccess = () => {
      const cursor = asked.result;
      if (!cursor) return resolve(found);
      found.push([cursor.key, cursor.value]);
      cursor.continue();
    };
    asked.onerror = () => reject(asked.error);
  });
}
