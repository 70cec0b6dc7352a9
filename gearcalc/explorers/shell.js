// The shell that every explorer shares: labelled native controls, a message line, a picture of fixed height,
// the numbers under it. Nothing is fetched; everything shown comes from the kernel as text.

// Each explorer loads this file anew, so that a count alone would give two explorers on a page the same ids.
const PREFIX = `gearcalc-${Math.random().toString(36).slice(2)}`;
let count = 0;
const newId = () => `${PREFIX}-${(count += 1)}`;

function make(tag, attributes = {}, ...children) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, value);
  element.append(...children);
  return element;
}

// JupyterLab takes the arrow keys from whatever is no text box, unless the element itself says no.
const OWN_KEYS = { "data-lm-suppress-shortcuts": "true" };

function sliderControl(control, id, send) {
  const options = control.options;
  const last = options ? options.length - 1 : control.max;
  const slider = make("input", {
    ...OWN_KEYS, type: "range", id, min: options ? 0 : control.min, max: last, step: control.step ?? 1,
    "aria-label": control.label,
  });
  const box = make("input", {
    ...OWN_KEYS, type: "text", inputmode: "numeric", class: "gearcalc-box", maxlength: 12,
    "aria-label": `${control.label}, as a number`, autocomplete: "off", spellcheck: "false",
  });
  const valueOf = () => (options ? options[Number(slider.value)] : Number(slider.value));
  const show = (value) => {
    const number = String(value).trim() === "" ? NaN : Number(value);  // typed, it comes as text
    const word = String(value).trim().toLowerCase();  // as "none" among tooth counts
    const place = options ? options.findIndex((option) => option === number || option === word) : number;
    const stands = options || Number.isInteger(control.step) ? Number.isInteger(place) : Number.isFinite(place);
    if (stands && place >= Number(slider.min) && place <= last) slider.value = place;
    slider.setAttribute("aria-valuetext", `${value}${control.unit && !Number.isNaN(number) ? " " + control.unit : ""}`);
    if (document.activeElement !== box) box.value = value;
  };
  slider.addEventListener("input", () => { send(valueOf()); box.value = valueOf(); });
  const typed = () => send(box.value.trim());
  box.addEventListener("change", typed);
  box.addEventListener("keydown", (event) => { if (event.key === "Enter") typed(); });
  const unit = control.unit ? [make("span", { class: "gearcalc-unit" }, control.unit)] : [];
  return { element: make("span", { class: "gearcalc-slider" }, slider, box, ...unit), show };
}

function textControl(control, id, send) {
  const box = make("input", {
    ...OWN_KEYS, type: "text", id, maxlength: control.wide ? 900 : 200, class: "gearcalc-text", autocomplete: "off",
    spellcheck: "false",
  });
  const typed = () => send(box.value);
  box.addEventListener("change", typed);
  box.addEventListener("keydown", (event) => { if (event.key === "Enter") typed(); });
  return { element: box, show: (value) => { if (document.activeElement !== box) box.value = value; } };
}

function choiceControl(control, id, send) {
  const group = make("span", { class: "gearcalc-choice", role: "radiogroup", "aria-label": control.label, id });
  const inputs = control.options.map((option, place) => {
    const input = make("input", { ...OWN_KEYS, type: "radio", name: id, id: `${id}-${place}`, value: place });
    input.addEventListener("change", () => { if (input.checked) send(option); });
    group.append(make("label", { for: `${id}-${place}` }, input, make("span", {}, control.labels?.[place] ?? option)));
    return input;
  });
  const show = (value) => inputs.forEach((input, place) => { input.checked = control.options[place] === value; });
  return { element: group, show };
}

const KINDS = { slider: sliderControl, text: textControl, choice: choiceControl };

function render({ model, el }) {
  const controls = make("div", { class: "gearcalc-controls" });
  const shown = {};
  for (const control of model.get("controls")) {
    const id = newId();
    const send = (value) => {
      model.set("values", { ...model.get("values"), [control.name]: value });
      model.save_changes();
    };
    const built = KINDS[control.kind](control, id, send);
    shown[control.name] = built.show;
    const label = control.kind === "choice"
      ? make("span", { class: "gearcalc-label", "aria-hidden": "true" }, control.label)
      : make("label", { class: "gearcalc-label", for: id }, control.label);
    const width = control.wide ? " gearcalc-wide" : "";
    controls.append(make("div", { class: `gearcalc-control${width}` }, label, built.element));
  }
  const message = make("p", { class: "gearcalc-message", role: "status", "aria-live": "polite" });
  const picture = make("div", { class: "gearcalc-picture" });
  picture.style.aspectRatio = model.get("aspect");
  const turning = model.get("turning") ? turningControls(picture) : null;
  const facts = make("div", { class: "gearcalc-facts" });
  facts.style.minHeight = `${model.get("facts_px")}px`;
  const title = make("h4", { class: "gearcalc-title" }, model.get("title"));
  const whole = make("section", { class: "gearcalc-explorer", "aria-label": model.get("title") },
    title, controls, message, ...(turning ? [turning.element] : []), picture, facts);

  const update = {
    "change:values": () => {
      for (const [name, value] of Object.entries(model.get("values"))) shown[name]?.(value);
    },
    "change:svg": () => { picture.innerHTML = model.get("svg"); turning?.follow(); },
    "change:facts": () => { facts.innerHTML = model.get("facts"); },
    "change:message": () => {
      message.textContent = model.get("message");
      message.classList.toggle("gearcalc-alert", model.get("message") !== "");
    },
  };
  for (const [event, apply] of Object.entries(update)) { model.on(event, apply); apply(); }
  el.append(whole);
  return () => {
    turning?.stop();
    for (const [event, apply] of Object.entries(update)) model.off(event, apply);
  };
}

export default { render };
