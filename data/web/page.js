// On a page of JupyterLite: how far Python is, and what else there is to say, at its foot; links from lesson to lesson;
// nothing old from a cache; fetched ahead, what would else be wanted when the network may be gone.
(() => {
  "use strict";
  const TOP = new URL(document.currentScript.dataset.top, location.href);
  const isLesson = location.pathname.slice(TOP.pathname.length).startsWith("notebooks/"); // else it is a list of files
  const AHEAD = JSON.parse(document.currentScript.dataset.ahead);
  const lesson = new URLSearchParams(location.search).get("path") ?? "";
  const [foot, line] = ["div", "div"].map((kind) => document.createElement(kind));
  foot.id = "gearcalc-foot";
  const [bar, shown, said] = ["i", "span", "span"].map((kind) => document.createElement(kind));
  line.id = "gearcalc-python";
  shown.ariaHidden = "true"; // it changes too often to be read out
  said.className = "only-said";
  said.role = "status";
  line.append(bar, shown, said);
  foot.append(line);

  /** One more line at the foot, until it is dismissed; `more`: a link or a button. */
  const note = (words, ...more) => {
    const [told, away] = ["p", "button"].map((kind) => document.createElement(kind));
    away.textContent = "Dismiss";
    away.onclick = () => told.remove();
    told.setAttribute("role", "status");
    told.append(words, ...more, away);
    foot.prepend(told);
    return away;
  };
  const linkTo = (words, page) => Object.assign(document.createElement("a"), { textContent: words, href: new URL(page, TOP) });
  const lessonPage = (name) => `notebooks/index.html?path=${encodeURIComponent(name)}`;

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
    if (state === "failed" || state === "missing") return clearInterval(look);
    if (kernel()?.status !== "idle" || kernel().connectionStatus !== "connected") return;
    clearInterval(look);
    tell("ready", "Python is ready.");
    setTimeout(() => (line.hidden = true), 2500);
  }, 150);

  // Answers are to stay when the disk is full. A browser may refuse that, and has nothing to ask on an address that is not
  // secure; then they are kept as before.
  if (isLesson) navigator.storage?.persist?.().catch(() => {});

  document.addEventListener("DOMContentLoaded", async () => {
    if (!isLesson) return;
    document.body.append(foot);
    tell("page", "The lesson is being opened …");
    const { moved, missing } = await window.gearcalcSaved;
    if (missing) return sayMissing(missing);
    for (const [yours, name] of moved) if (name === lesson) sayMoved(yours);
    fetchAhead();
  });
  const sayMissing = (name) => {
    document.getElementById("jupyterlite-loading-indicator")?.remove();
    document.documentElement.lang = "en"; // which JupyterLite would say
    foot.className = "alone";
    foot.role = "main";
    Object.assign(shown, { ariaHidden: null, role: "heading", ariaLevel: "1" });
    tell("missing", `This site has no lesson ${name}. `);
    line.append(linkTo("All its lessons", "index.html"));
  };
  const sayMoved = (yours) => {
    const words = `This lesson is newer than the one in which you wrote. Yours is kept, as “${yours}”. `;
    note(words, linkTo("Open yours", lessonPage(yours))).addEventListener("click", () => window.gearcalcTold(yours));
  };

  // Scripts that the widgets ask for when the first is shown: then the network may be gone, and what stands is to work.
  const fetchAhead = () => {
    for (const name of AHEAD) {
      document.head.append(Object.assign(document.createElement("script"), { src: new URL(name, TOP), async: true }));
    }
  };
  let isGone = false;
  window.addEventListener("error", ({ target }) => {
    if (isGone || !(target instanceof HTMLScriptElement)) return;
    isGone = true;
    note("The network is gone, and a part of this page did not come. See that you are connected, then load this page again. ");
  }, true);

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
    if (foot.contains(link)) return new URL(link.href);
    if (link.id === "jp-NotebookLogo") return new URL("index.html", TOP);
    const [address, place] = link.href.split("#");
    const name = files.get(address) ?? decodeURIComponent(address.match(/\/(?:files|notebooks|tree)\/([^/?]+)$/)?.[1] ?? "");
    if (!name.endsWith(".ipynb")) return null;
    return new URL(`${lessonPage(name)}${place ? `#${place}` : ""}`, TOP);
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
