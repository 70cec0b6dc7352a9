// A lesson that this browser saved hides the one on the site. Before JupyterLite starts, a saved lesson of an older edition
// makes room: if it was only run, it goes; if somebody wrote in it, it gets a name of its own, beside the new one; page.js
// tells of it until it was opened. One of a lesson that the site has no longer hides nothing, and stays. Where a lesson is
// neither on the site nor saved, JupyterLite does not start.
(() => {
  "use strict";
  const TOP = new URL(document.currentScript.dataset.top, location.href);
  const PATIENCE_MS = 10_000;
  const UNTOLD = `gearcalc moved ${TOP.pathname}`; // which lesson each was, by the name that it has now
  const NOTHING = { moved: [], missing: "" };
  const asksFor = location.pathname.endsWith("/notebooks/index.html") ? new URLSearchParams(location.search).get("path") : null;

  const untold = () => {
    try {
      return JSON.parse(localStorage.getItem(UNTOLD)) ?? {};
    } catch {
      return {};
    }
  };
  const keepUntold = (moved) => {
    try {
      localStorage.setItem(UNTOLD, JSON.stringify(moved));
    } catch {} // then it is told on this page alone
  };
  window.gearcalcTold = (yours) => {
    const { [yours]: _, ...others } = untold();
    keepUntold(others);
  };

  const crc32 = (bytes) => {
    let sum = 0xffffffff;
    for (const byte of bytes) {
      sum ^= byte;
      for (let bit = 0; bit < 8; bit++) sum = (sum >>> 1) ^ (sum & 1 ? 0xedb88320 : 0);
    }
    return (sum ^ 0xffffffff) >>> 0;
  };

  /** What the cells say, in short: the rule of print_of() in lessons_in_a_site.py. */
  const printOf = (cells) => {
    const text = (cell) => (Array.isArray(cell.source) ? cell.source.join("") : cell.source);
    const told = new TextEncoder().encode(cells.map((cell) => `${cell.cell_type[0]}\0${text(cell)}`).join("\0"));
    return `${crc32(told).toString(16).padStart(8, "0")}-${told.length}`;
  };

  const asked = (request) =>
    new Promise((resolve, reject) => {
      request.onsuccess = () => resolve(request.result);
      request.onerror = () => reject(request.error);
    });

  /** The database in which JupyterLite keeps files; null where there is none yet. */
  const opened = (name) =>
    new Promise((resolve, reject) => {
      const request = indexedDB.open(name);
      request.onupgradeneeded = () => request.transaction.abort(); // it is not there, and not ours to make
      request.onsuccess = () => resolve(request.result);
      request.onerror = () => (request.error?.name === "AbortError" ? resolve(null) : reject(request.error));
      request.onblocked = () => resolve(null);
    });

  const freeName = (name, taken) => {
    const today = new Date();
    const two = (number) => String(number).padStart(2, "0");
    const date = `${today.getFullYear()}-${two(today.getMonth() + 1)}-${two(today.getDate())}`;
    for (let number = 1; ; number++) {
      const yours = name.replace(/\.ipynb$/, ` (yours, ${date}${number > 1 ? `, ${number}` : ""}).ipynb`);
      if (!taken.has(yours)) return yours;
    }
  };

  async function bringUpToDate() {
    const stamp = await (await fetch(new URL("static/gearcalc/lessons.json", TOP), { cache: "no-cache" })).json();
    const database = await opened(`JupyterLite Storage - ${TOP.pathname}`);
    const missing = (taken) => (asksFor?.endsWith(".ipynb") && !(asksFor in stamp) && !taken.has(asksFor) ? asksFor : "");
    if (!database) return { ...NOTHING, missing: missing(new Set()) };
    const moved = untold();
    let taken;
    try {
      if (!database.objectStoreNames.contains("files")) return { ...NOTHING, missing: missing(new Set()) };
      const others = ["checkpoints"].filter((name) => database.objectStoreNames.contains(name));
      const change = database.transaction(["files", ...others], "readwrite");
      const files = change.objectStore("files");
      taken = new Set(await asked(files.getAllKeys()));
      for (const [name, now] of Object.entries(stamp)) {
        const saved = taken.has(name) ? await asked(files.get(name)) : null;
        const book = saved?.content;
        const from = book?.metadata?.gearcalc?.print;
        if (!book?.cells || from === now) continue;
        const said = printOf(book.cells);
        if (said !== from && said !== now) {
          const yours = freeName(name, taken);
          files.put({ ...saved, name: yours, path: yours }, yours);
          taken.add(yours);
          moved[yours] = name;
        }
        files.delete(name);
        for (const other of others) change.objectStore(other).delete(name);
      }
      await new Promise((resolve, reject) => {
        change.oncomplete = resolve;
        change.onabort = change.onerror = () => reject(change.error);
      });
    } finally {
      database.close();
    }
    delete moved[asksFor]; // it is being opened
    for (const yours of Object.keys(moved)) if (!taken.has(yours)) delete moved[yours];
    keepUntold(moved);
    return { moved: Object.entries(moved), missing: missing(taken) };
  }

  const late = new Promise((resolve) => setTimeout(resolve, PATIENCE_MS, NOTHING));
  window.gearcalcSaved = Promise.race([bringUpToDate(), late]).catch((problem) => {
    console.warn("gearcalc: saved lessons were not looked at", problem);
    return NOTHING;
  });
  window.gearcalcMoved = window.gearcalcSaved.then(({ missing }) => missing && new Promise(() => {}));
})();
