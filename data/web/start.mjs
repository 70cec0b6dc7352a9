// Starts Python in the worker of a lesson: the page is told how far it has got, and what the lesson needs is made ready
// before its first cell can run. JupyterLite is told of this module in place of Pyodide's own.
import { loadPyodide as load } from "./pyodide.mjs";

export async function loadPyodide(options) {
  const python = await load(options);
  return python;
}
