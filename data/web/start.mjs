// Starts Python in the worker of a lesson: the page is told how far it has got, and what the lesson needs is made ready
// before its first cell can run. JupyterLite is told of this module in place of Pyodide's own.
import { loadPyodide as load } from "./pyodide.mjs";
import { keepFiles } from "./kept.mjs";

export async function loadPyodide({ beside, ...options }) {
  const python = await load(options);
  await keepFiles(python, beside);
  python.runPython("import pyodide_kernel\nfrom gearcalc.learning.in_browser import begin\nbegin()");
  return python;
}
