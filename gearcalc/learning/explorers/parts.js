// What every widget on a page is made of: labelled native controls that keep their own keys.

// Each widget loads this file anew, so that a count alone would give two of them on a page the same ids.
const PREFIX = `gearcalc-${Math.random().toString(36).slice(2)}`;
let count = 0;
const newId = () => `${PREFIX}-${(count += 1)}`;

function make(tag, attributes = {}, ...children) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, value);
  element.append(...children);
  return element;
}

// Where Python was restarted, nothing behind the page answers: it says so, and takes nothing more.
function tellOfRestart(model, el, whole) {
  const note = make("p", { class: "gearcalc-restarted", role: "status" });
  el.append(note, whole);
  const look = () => setTimeout(() => {  // the layout is a widget too, and all of them end together
    whole.inert = model.get("layout")?.comm_live === false;
    note.textContent = whole.inert ? "Python was started anew, so nothing here answers. Run the cells again, from the top." : "";
  });
  model.on("comm_live_update", look);
  return () => model.off("comm_live_update", look);
}

// JupyterLab takes the arrow keys from whatever is no text box, unless the element itself says no.
const OWN_KEYS = { "data-lm-suppress-shortcuts": "true" };

// A box to type in: what it says counts when Enter is pressed or it is left, and it is not written over meanwhile.
function typedBox(attributes, send, kind = "input") {
  const box = make(kind, { ...OWN_KEYS, type: "text", autocomplete: "off", spellcheck: "false", ...attributes });
  const typed = () => send(box.value.trim());
  box.addEventListener("change", typed);
  box.addEventListener("keydown", (event) => {
    if (event.key !== "Enter") return;
    event.preventDefault();  // a box that grows with its text is one line none the less
    typed();
  });
  return { element: box, show: showUnlessTyping(box) };
}

// The same, as high as what it says needs, so that a long list of gears is seen whole.
function growingBox(attributes, send) {
  const { element, show } = typedBox({ rows: 1, ...attributes }, send, "textarea");
  const grow = () => {
    element.style.height = "";
    if (element.scrollHeight > element.clientHeight) element.style.height = `${element.scrollHeight + 2}px`;
  };
  element.addEventListener("input", grow);
  let width = 0;
  new ResizeObserver(() => { if (element.clientWidth !== width) { width = element.clientWidth; grow(); } }).observe(element);
  const showAndGrow = (value) => {
    const before = element.value;
    show(value);
    if (element.value !== before) grow();  // to measure it costs a layout of the page
  };
  return { element, show: showAndGrow };
}

function showUnlessTyping(box) {
  return (value) => { if (document.activeElement !== box) box.value = value; };
}

// One of several native radio buttons; `pick` is called once it is the one.
function radio(attributes, pick) {
  const input = make("input", { ...OWN_KEYS, type: "radio", ...attributes });
  input.addEventListener("change", () => { if (input.checked) pick(); });
  return input;
}

function button(label, press, sign = "") {
  const icon = sign ? [make("span", { "aria-hidden": "true", class: "gearcalc-sign" }, sign)] : [];
  const element = make("button", { ...OWN_KEYS, type: "button", class: "gearcalc-button" }, ...icon, label);
  element.addEventListener("click", press);
  return element;
}
