// Two tabs of a lesson, and a browser that tells each of them what has happened in any order that it may: what each
// tab's storage and each tab's mail say comes in their own order, and between these four in no order at all.
// node kept_in_two_tabs.mjs KEPT.mjs RUNS: prints what went wrong, and how many runs there were.
const [address, runs] = process.argv.slice(2);
const FILE = "answers.json";
let random, tabs, kept, waiting, running, now;

globalThis.setInterval = () => {};
globalThis.BroadcastChannel = class {
  constructor() { this.tab = now; now.mail = this; }
  postMessage(data) {
    for (const tab of tabs) if (tab !== this.tab && tab.mail) tab.letters.push(() => tab.mail.onmessage({ data }));
  }
};
globalThis.indexedDB = { open() {
  const tab = now, asked = { result: { transaction: (_, mode) => new Transaction(tab, mode) } };
  tab.events.push(() => asked.onsuccess());
  return asked;
} };

class Transaction {
  constructor(tab) { this.tab = tab; this.asked = []; waiting.push(this); goOn(); }
  objectStore() { return this; }
  get(name) { return this.ask(() => kept.get(name)); }
  put(content, name) { return this.ask(() => { kept.set(name, content); }); }
  openCursor() { return this.ask(() => null); }
  ask(act) { const asked = { act }; this.asked.push(asked); if (running === this && this.idle) this.step(); return asked; }
  step() {
    const next = this.asked.shift();
    this.idle = !next;
    if (!next) return;
    next.result = next.act();
    this.tab.events.push(() => {
      next.onsuccess?.();
      this.step();
      if (this.idle) { this.tab.events.push(() => this.oncomplete?.()); running = null; goOn(); }
    });
  }
}
function goOn() {
  if (running || !waiting.length) return;
  running = waiting.shift();
  queueMicrotask(() => running?.step()); // what a transaction is to do is asked for right after it is begun
}

function aTab() {
  const files = new Map();
  let made = 0;
  const at = (path) => path.split("/").pop();
  const FS = {
    writeFile: (path, content) => { files.set(at(path), { content, ino: (made += 1), size: content.length, mtime: 0 }); },
    rename: (from, to) => { files.set(at(to), files.get(at(from))); files.delete(at(from)); },
    lstat: (path) => files.get(at(path)),
    isFile: () => true,
    analyzePath: (path) => ({ exists: files.has(at(path)) }),
    unlink: (path) => { files.delete(at(path)); },
    readdir: () => [...files.keys()],
    readFile: (path) => files.get(at(path)).content,
  };
  const tab = { events: [], letters: [], says: () => new TextDecoder().decode(files.get(FILE)?.content) };
  tab.write = (text) => FS.writeFile(FILE, new TextEncoder().encode(text));
  tab.python = { FS, registerJsModule: (_, module) => { tab.module = module; } };
  tabs.push(tab);
  return tab;
}
const settled = () => new Promise((resolve) => { setImmediate(resolve); });
async function one() { // of the things that may happen next
  const queues = tabs.flatMap((tab) => [tab.events, tab.letters]).filter((queue) => queue.length);
  if (!queues.length) return false;
  queues[Math.floor(random() * queues.length)].shift()();
  await settled();
  return true;
}

const { keepFiles } = await import(address);
const wrong = [];
for (let run = 1; run <= Number(runs); run += 1) {
  let seed = run;
  random = () => { seed = (seed * 48271) % 2147483647; return seed / 2147483647; };
  [tabs, kept, waiting, running] = [[], new Map(), [], null];
  for (const tab of [aTab(), aTab()]) {
    now = tab;
    const begun = keepFiles(tab.python);
    while (!tab.module) { await settled(); await one(); }
    await begun;
  }
  const guesses = {}; // each tab has a guess of its own, and both have one in common
  for (let typed = 1; typed <= 5; typed += 1) {
    const place = Math.floor(random() * 2), tab = tabs[place], name = random() < 0.6 ? "both" : `own ${place}`;
    guesses[name] = typed;
    const rule = (text) => JSON.stringify({ ...JSON.parse(text ?? "{}"), [name]: typed });
    tab.write(rule(tab.says() === "" ? undefined : tab.says()));
    tab.module.change(FILE, rule, (why) => wrong.push(`run ${run}: refused, ${why}`));
    await settled();
    while (random() < 0.7 && await one());
  }
  while (await one());
  const wanted = JSON.stringify(Object.entries(guesses).sort());
  const said = [new TextDecoder().decode(kept.get(FILE)), ...tabs.map((tab) => tab.says())];
  said.forEach((text, place) => {
    const found = JSON.stringify(Object.entries(JSON.parse(text)).sort());
    if (found !== wanted) wrong.push(`run ${run}: ${["the browser", "one tab", "the other"][place]} has ${found} for ${wanted}`);
  });
}
console.log(JSON.stringify({ runs: Number(runs), wrong }));
