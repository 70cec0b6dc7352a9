// A lesson that this browser saved hides the one on the site. Before JupyterLite starts, a saved lesson of an older edition
// makes room: if it was only run, it goes; if somebody wrote in it, it gets a name of its own, beside the new one.
// One of a lesson that the site has no longer hides nothing, and stays.
(() => {
  "use strict";
  const TOP = new URL(document.currentScript.dataset.top, location.href);
  const PATIENCE_MS = 10_000;

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
    if (!database) return [];
    const moved = [];
    try {
      if (!database.objectStoreNames.contains("files")) return [];
      const others = ["checkpoints"].filter((name) => database.objectStoreNames.contains(name));
      const change = database.transaction(["files", ...others], "readwrite");
      const files = change.objectStore("files");
      const taken = new Set(await asked(files.getAllKeys()));
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
          moved.push([name, yours]);
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
    return moved;
  }

  const late = new Promise((resolve) => setTimeout(resolve, PATIENCE_MS, []));
  window.gearcalcMoved = Promise.race([bringUpToDate(), late]).catch((problem) => {
    console.warn("gearcalc: saved lessons were not looked at", problem);
    return [];
  });
})();
