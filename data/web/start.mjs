// Starts Python in the worker of a lesson, in place of Pyodide's own module: the page hears how far it has got, and what
// a lesson needs is made ready before its first cell can run.
import { loadPyodide as load } from "./pyodide.mjs";
import { keepFiles } from "./kept.mjs";

const tell = (step) => self.postMessage({ gearcalc: step });

// `beside`: files that the site puts beside its lessons, by name.
export async function loadPyodide({ beside, ...options }) {
  try {
    const python = await counted(() => load(options));
    const missing = options.packages.filter((name) => !(name in python.loadedPackages));
    if (missing.length) throw new Error(`not loaded: ${missing.join(", ")}`);
    tell({ step: "starting" });
    await keepFiles(python, beside);
    python.runPython("import pyodide_kernel\nfrom gearcalc.learning.in_browser import begin\nbegin()");
    return python;
  } catch (problem) {
    tell({ step: "failed", why: String(problem?.message ?? problem) });
    throw problem;
  }
}

/** Do the work, and tell meanwhile how many of all bytes have come. */
async function counted(work) {
  const real = self.fetch;
  const sizes = await (await real(new URL("./sizes.json", import.meta.url), { cache: "no-cache" })).json();
  const all = Object.values(sizes).reduce((sum, size) => sum + size, 0);
  let got = 0, told = 0;
  const came = (bytes) => {
    got += bytes;
    if (Date.now() - told < 250) return;
    told = Date.now();
    tell({ step: "loading", got: Math.min(got, all), all });
  };
  self.fetch = async (what, settings = {}) => {
    const address = String(what?.url ?? what);
    const isLock = address.endsWith("pyodide-lock.json"); // names the others by what they contain: never an old one
    const answer = await real(what, isLock ? { ...settings, cache: "no-cache" } : settings);
    if (!answer.ok || !answer.body || !(address.split("/").pop() in sizes)) return answer;
    const counter = new TransformStream({
      transform(piece, on) {
        came(piece.byteLength);
        on.enqueue(piece);
      },
    });
    const { status, statusText, headers } = answer;
    return new Response(answer.body.pipeThrough(counter), { status, statusText, headers });
  };
  try {
    return await work();
  } finally {
    self.fetch = real;
  }
}
