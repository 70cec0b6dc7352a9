// On a page of JupyterLite: how far Python is, on a line at its foot; links from lesson to lesson; nothing old from a cache.
(() => {
  "use strict";
  const TOP = new URL(document.currentScript.dataset.top, location.href);
  const isLesson = location.pathname.slice(TOP.pathname.length).startsWith("notebooks/"); // else it is a list of files
  const line = document.createElement("div");
  const [bar, shown, said] = ["i", "span", "span"].map((kind) => document.createElement(kind));
  line.id = "gearcalc-python";
  shown.ariaHidden = "true"; // it changes too often to be read out
  said.className = "only-said";
  said.role = "status";
  line.append(bar, shown, said);

  let state = "page";
  const tell = (now, words, toSay = words) => {
    shown.textContent = words;
    if (now !== state || !said.textContent) said.textContent = toSay;
    state = now;
  };
  const megabytes = (bytes) => Math.round(bytes / 1e6);

  const heard = ({ data }) => {
    const step = data?.gearcalc;
    if (!step || state === "ready") return;
    if (step.step === "loading") {
      bar.style.setProperty("--gearcalc-got", step.got / step.all);
      const far = `${megabytes(step.got)} of ${megabytes(step.all)} MB`;
      tell("loading", `Python is being loaded: ${far}`, "Python is being loaded.");
    } else if (step.step === "starting") {
      bar.style.setProperty("--gearcalc-got", 1);
      tell("starting", "Python is starting …");
    } else if (step.step === "failed") failed(step.why);
  };

  const failed = (why) => {
    if (state === "ready" || state === "failed") return;
    console.error("gearcalc: Python was not loaded:", why);
    line.className = "failed";
    line.hidden = false;
    tell("failed", "Python could not be loaded. See that you are connected, then load this page again. What you wrote is kept.");
    const again = document.createElement("button");
    again.textContent = "Load again";
    again.onclick = () => location.reload();
    line.append(again);
  };

  // The worker that Python runs in belongs to this page, and so does what it says of itself.
  window.Worker = class extends window.Worker {
    constructor(...given) {
      super(...given);
      this.addEventListener("message", heard);
      this.addEventListener("error", ({ message }) => failed(message || "its script was not loaded"));
    }
  };

  let app;
  const kernel = () => app?.shell.currentWidget?.sessionContext?.session?.kernel;
  const look = setInterval(() => {
    if (state === "failed") return clearInterval(look);
    if (kernel()?.status !== "idle" || kernel().connectionStatus !== "connected") return;
    clearInterval(look);
    tell("ready", "Python is ready.");
    setTimeout(() => (line.hidden = true), 2500);
  }, 150);

  // Answers are to stay when the disk is full. A browser may refuse that, and has nothing to ask on an address that is not
  // secure; then they are kept as before.
  if (isLesson) navigator.storage?.persist?.().catch(() => {});

  document.addEventListener("DOMContentLoaded", async () => {
    if (isLesson) document.body.append(line);
    tell("page", "The lesson is being opened …");
    for (const [name, yours] of await window.gearcalcMoved) {
      console.info(`gearcalc: there is a new edition of ${name}; yours is now ${yours}`);
    }
  });

  // A link to a lesson opens it here, where JupyterLite would open a page of files beside it; what is written is kept first.
  const files = new Map(); // which file an address stands for: that of a file kept in this browser does not say it
  Object.defineProperty(window, "jupyterapp", {
    get: () => app,
    set: (given) => {
      app = given;
      const { contents } = app.serviceManager;
      const addressOf = contents.getDownloadUrl.bind(contents);
      contents.getDownloadUrl = async (path) => {
        const address = await addressOf(path);
        files.set(new URL(address, location.href).href.split("#")[0], path);
        return address;
      };
    },
  });
  const pageOf = (link) => {
    if (link.id === "jp-NotebookLogo") return new URL("index.html", TOP);
    const [address, place] = link.href.split("#");
    const name = files.get(address) ?? decodeURIComponent(address.match(/\/(?:files|notebooks|tree)\/([^/?]+)$/)?.[1] ?? "");
    if (!name.endsWith(".ipynb")) return null;
    return new URL(`notebooks/index.html?path=${encodeURIComponent(name)}${place ? `#${place}` : ""}`, TOP);
  };
  const kept = () => {
    const isDirty = app?.shell.currentWidget?.context?.model?.dirty;
    const saving = isDirty && app.commands.execute("docmanager:save");
    return Promise.race([saving, new Promise((resolve) => setTimeout(resolve, 3000))]).catch(() => {});
  };
  const follow = async (event) => {
    const link = event.target.closest?.("a[href]");
    const page = link && pageOf(link);
    if (!page) return;
    event.preventDefault();
    event.stopImmediatePropagation();
    if (event.ctrlKey || event.metaKey || event.shiftKey) return window.open(page, "_blank");
    await kept();
    location.assign(page);
  };
  window.addEventListener("click", follow, true);

  // A lesson, and what tells which there are, may have changed on the server since this browser last asked.
  const real = window.fetch;
  const changes = /\/(files|api\/contents)\/|\/jupyter-lite\.(json|ipynb)|\.html$/;
  window.fetch = (what, settings = {}) => {
    const address = String(what?.url ?? what).split("?")[0];
    return real.call(window, what, changes.test(address) && !(what instanceof Request) ? { cache: "no-cache", ...settings } : settings);
  };
})();
