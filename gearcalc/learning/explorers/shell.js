// The shell that every explorer shares: labelled native controls, a message line, a picture of fixed height,
// the numbers under it. Nothing is fetched; everything shown comes from the kernel as text.

const LEAST_LETTERS = 4;

function sliderControl(control, id, send) {
  const options = control.options;
  const last = options ? options.length - 1 : control.max;
  const slider = make("input", {
    ...OWN_KEYS, type: "range", id, min: options ? 0 : control.min, max: last, step: control.step ?? 1,
    "aria-label": control.label,
  });
  const box = typedBox(
    { inputmode: "numeric", class: "gearcalc-box", maxlength: 12, "aria-label": `${control.label}, as a number` }, send);
  const places = (String(control.step ?? 1).split(".")[1] ?? "").length;
  const ends = (options ?? [control.min, control.max].map((end) => end.toFixed(places))).map((end) => String(end).length);
  box.element.style.setProperty("--explorer-letters", Math.max(LEAST_LETTERS, ...ends));  // the slider has the rest
  const valueOf = () => (options ? options[Number(slider.value)] : Number(slider.value));
  const show = (value) => {
    const number = String(value).trim() === "" ? NaN : Number(value);  // typed, it comes as text
    const word = String(value).trim().toLowerCase();  // as "none" among tooth counts
    const place = options ? options.findIndex((option) => option === number || option === word) : number;
    const stands = options || Number.isInteger(control.step) ? Number.isInteger(place) : Number.isFinite(place);
    if (stands && place >= Number(slider.min) && place <= last) slider.value = place;
    slider.setAttribute("aria-valuetext", `${value}${control.unit && !Number.isNaN(number) ? " " + control.unit : ""}`);
    box.show(value);
  };
  slider.addEventListener("input", () => { send(valueOf()); box.element.value = valueOf(); });
  const unit = control.unit ? [make("span", { class: "gearcalc-unit" }, control.unit)] : [];
  return { element: make("span", { class: "gearcalc-slider" }, slider, box.element, ...unit), show };
}

function textControl(control, id, send) {
  return growingBox({ id, maxlength: control.wide ? 900 : 200, class: "gearcalc-text" }, send);
}

function choiceControl(control, id, send) {
  const group = make("span", { class: "gearcalc-choice", role: "radiogroup", "aria-label": control.label, id });
  const inputs = control.options.map((option, place) => {
    const input = radio({ name: id, id: `${id}-${place}`, value: place }, () => send(option));
    group.append(make("label", { for: `${id}-${place}` }, input, make("span", {}, control.labels?.[place] ?? option)));
    return input;
  });
  const show = (value) => inputs.forEach((input, place) => { input.checked = control.options[place] === value; });
  return { element: group, show };
}

function areaControl(control, id, send) {
  const box = make("textarea", {
    ...OWN_KEYS, id, maxlength: 40000, rows: 14, class: "gearcalc-area", autocomplete: "off", spellcheck: "false",
    wrap: "off", "aria-label": control.label,
  });
  box.addEventListener("change", () => send(box.value));
  const use = button(control.use, () => { send(box.value); if (control.sets) send(...control.sets); });
  const folded = make("details", { class: "gearcalc-folded" },
    make("summary", { ...OWN_KEYS }, control.label), box, use);
  return { element: folded, show: showUnlessTyping(box) };
}

// A table of which one row is chosen: each row holds a native radio button, so that arrow keys move the choice.
function tableControl(control, id, send) {
  const head = make("thead"), body = make("tbody");
  const legend = make("legend", { class: "gearcalc-label" }, control.label);
  const note = make("p", { class: "gearcalc-note" });
  const element = make("fieldset", { class: "gearcalc-table", id }, legend, make("table", {}, head, body), note);
  element.style.minHeight = `${control.height}px`;
  let inputs = [], drawn = "", chosen = 1;
  const show = (value) => {
    chosen = Number(value) || 1;
    const place = Math.min(Math.max(chosen, 1), inputs.length) - 1;
    inputs.forEach((input, n) => {
      input.checked = n === place;
      input.closest("tr").classList.toggle("gearcalc-chosen", n === place);
    });
  };
  const rowOf = (cells, columns, n) => {
    const said = cells.map((cell, column) => `${columns[column]} ${cell}`).join(", ");
    const input = radio({ name: id, value: n + 1, "aria-label": said }, () => { show(n + 1); send(n + 1); });
    inputs.push(input);
    const row = make("tr", {}, make("th", { scope: "row" }, input, make("span", {}, cells[0])),
      ...cells.slice(1).map((cell) => make("td", {}, cell)));
    row.addEventListener("click", (event) => { if (event.target !== input) { input.focus(); input.click(); } });
    return row;
  };
  const fill = (table) => {
    const given = JSON.stringify(table);
    if (given === drawn) return;  // else the row in focus would be lost
    const focused = inputs.findIndex((input) => input === document.activeElement);
    drawn = given;
    inputs = [];
    head.replaceChildren(make("tr", {}, ...table.head.map((name) => make("th", { scope: "col" }, name))));
    body.replaceChildren(...table.rows.map((cells, n) => rowOf(cells, table.head, n)));
    note.textContent = table.note ?? "";
    show(chosen);
    if (focused >= 0) inputs[Math.min(focused, inputs.length - 1)]?.focus();
  };
  return { element, show, fill };
}

const KINDS = {
  slider: sliderControl, text: textControl, choice: choiceControl, area: areaControl, table: tableControl,
};
const LABELLED_BY_THEMSELVES = ["area", "table"];
const BESIDE_PX = 640, ALWAYS_BESIDE_PX = 1000;  // widths between which it is looked at what leaves the picture larger
const LEAST_SCALE = 0.7;  // letters are drawn 12 high and more: they are never shown below 8, with a scroll bar too
const LONG_CHOICE = 14;  // letters on the buttons that take two columns
const REST_MS = 400;

// What is wider or higher than its room is scrolled with the keys, once it can be reached by them; and only then.
function reachable(element, name) {
  const look = () => {
    const more = element.scrollWidth > element.clientWidth + 1 || element.scrollHeight > element.clientHeight + 1;
    for (const [attribute, value] of Object.entries({ ...OWN_KEYS, tabindex: 0, role: "group", "aria-label": name })) {
      if (more) element.setAttribute(attribute, value); else element.removeAttribute(attribute);
    }
  };
  const size = new ResizeObserver(look), content = new MutationObserver(look);
  size.observe(element);
  content.observe(element, { childList: true });
  return { disconnect() { size.disconnect(); content.disconnect(); } };
}

// A picture gets no smaller than its letters are read; where there is less room, it is scrolled sideways.
function keepLegible(whole, svg) {
  const drawn = svg?.viewBox.baseVal;
  if (!drawn?.width) return;
  for (const side of ["width", "height"]) whole.style.setProperty(`--explorer-least-${side}`, `${LEAST_SCALE * drawn[side]}px`);
}

// Puts the picture beside the controls where it comes out larger there than under them; asked anew at each new width.
function besideOrUnder(whole, stage, hand, canvas, aspect) {
  let width = 0;
  return () => {
    if (width === whole.clientWidth) return;
    width = whole.clientWidth;
    const widthWhere = (beside) => {
      whole.classList.toggle("gearcalc-beside", beside);
      stage.style.setProperty("--explorer-hand", `${hand.offsetHeight}px`);
      return Math.min(canvas.clientWidth, canvas.clientHeight * aspect);
    };
    const perhaps = width >= BESIDE_PX && width < ALWAYS_BESIDE_PX;
    if (!perhaps || widthWhere(true) <= widthWhere(false)) widthWhere(false); else widthWhere(true);
  };
}

function render({ model, el }) {
  const controls = make("div", { class: "gearcalc-controls" });
  const choosers = make("div", { class: "gearcalc-choosers" });  // tables of what is drawn, right under the picture
  const below = make("div", { class: "gearcalc-controls" });  // those that stand under them
  const shown = {}, filled = {}, still = {}, only = [];
  let moves = {};  // the last move of each control, numbered, so that the kernel can tell a move from what stood there
  for (const control of model.get("controls")) {
    const id = newId();
    const send = (value, name = control.name) => {
      moves = { ...moves, [name]: [(count += 1), value] };
      model.set("moved", { page: PREFIX, moves });
      model.set("values", { ...model.get("values"), [name]: value });
      model.save_changes();
    };
    const built = KINDS[control.kind](control, id, send);
    shown[control.name] = built.show;
    if (built.fill) filled[control.name] = built.fill;
    const label = control.kind === "choice"
      ? make("span", { class: "gearcalc-label", "aria-hidden": "true" }, control.label)
      : make("label", { class: "gearcalc-label", for: id }, control.label);
    const long = control.kind === "choice" && control.labels.join("").length > LONG_CHOICE;
    const width = control.wide ? " gearcalc-wide" : long ? " gearcalc-long" : "";
    const byItself = LABELLED_BY_THEMSELVES.includes(control.kind);
    const whole = byItself
      ? make("div", { class: "gearcalc-wide" }, built.element)
      : make("div", { class: `gearcalc-control gearcalc-${control.kind}-control${width}` }, label, built.element);
    if (control.only) only.push([whole, control.only]);
    const why = make("span", { class: "gearcalc-why" });
    const one = control.kind === "choice" && control.labels.length === 1 ? control.labels[0] : "";
    still[control.name] = (words) => {  // nothing moves by it now, and it says why; or there is nothing to choose
      why.textContent = words || one;
      built.element.hidden = why.textContent !== "";
    };
    if (!byItself) whole.append(why);
    if (control.kind === "table") choosers.prepend(whole);
    else (byItself ? choosers : control.below ? below : controls).append(whole);
  }
  const message = make("p", { class: "gearcalc-message", role: "status", "aria-live": "polite" });
  const said = make("p", { class: "gearcalc-said", role: "status", "aria-live": "polite" });
  const picture = make("div", { class: "gearcalc-picture" });
  const before = make("p", { class: "gearcalc-before" });  // the mark on what is shown still and no longer asked for
  const canvas = make("div", { class: "gearcalc-canvas" }, before, picture);
  canvas.style.aspectRatio = model.get("aspect");
  const turning = model.get("turning") ? turningControls(picture) : null;
  const hand = make("div", { class: "gearcalc-hand" }, controls, ...(turning ? [turning.element] : []), message);
  const stage = make("div", { class: "gearcalc-stage" }, hand, canvas);
  const high = new ResizeObserver(() => stage.style.setProperty("--explorer-hand", `${hand.offsetHeight}px`));
  high.observe(hand);
  const facts = make("div", { class: "gearcalc-facts" });
  facts.style.minHeight = `${model.get("facts_px")}px`;
  const watched = [reachable(facts, "Details"), reachable(picture, "Picture")];
  const title = make("h3", { class: "gearcalc-title" }, model.get("title"));
  const whole = make("section", { class: "gearcalc-explorer", role: "group", "aria-label": model.get("title") },
    title, stage, ...[choosers, below].filter((part) => part.firstChild), facts, said);
  whole.style.setProperty("--explorer-seen", `${model.get("seen_px")}px`);
  if (model.get("columns")) whole.style.setProperty("--explorer-column", `${100 / model.get("columns") - 5}%`);

  const showValues = () => {
    const values = model.get("values");
    const seen = model.get("seen")[PREFIX];  // moves that the kernel has not answered yet stay as the hand left them
    for (const [name, value] of Object.entries(values)) {
      if (!(moves[name]?.[0] > seen)) shown[name]?.(value);
    }
    for (const [element, [name, value]] of only) element.hidden = values[name] !== value;
  };
  let waiting = 0;
  const speak = () => {  // once the hand has come to rest
    clearTimeout(waiting);
    waiting = setTimeout(() => { said.textContent = model.get("said"); }, REST_MS);
  };
  const update = {
    "change:tables": () => {
      for (const [name, table] of Object.entries(model.get("tables"))) filled[name]?.(table);
    },
    "change:values": showValues,
    "change:seen": showValues,  // answered, perhaps with the very values that were sent
    "change:svg": () => {
      picture.innerHTML = model.get("svg");
      keepLegible(whole, picture.querySelector("svg"));
      turning?.follow();
    },
    "change:facts": () => { facts.innerHTML = model.get("facts"); },
    "change:message": () => {
      const says = model.get("message") !== "";  // the picture gives way to the words, and nothing else moves
      const under = getComputedStyle(stage).flexDirection === "column";
      if (!says) stage.style.height = ""; else if (under && !message.textContent) stage.style.height = `${stage.offsetHeight}px`;
      message.textContent = model.get("message");
      message.classList.toggle("gearcalc-alert", says);
    },
    "change:idle": () => {
      for (const [name, rest] of Object.entries(still)) rest(model.get("idle")[name] ?? "");
    },
    "change:before": () => {
      before.textContent = model.get("before");
      whole.classList.toggle("gearcalc-of-before", model.get("before") !== "");
    },
  };
  for (const [event, apply] of Object.entries(update)) { model.on(event, apply); apply(); }
  model.on("change:said", speak);
  const forget = tellOfRestart(model, el, whole);
  const wide = new ResizeObserver(besideOrUnder(whole, stage, hand, canvas, model.get("aspect")));
  wide.observe(whole);
  return () => {
    forget();
    wide.disconnect();
    turning?.stop();
    model.off("change:said", speak);
    clearTimeout(waiting);
    for (const each of watched) each.disconnect();
    high.disconnect();
    for (const [event, apply] of Object.entries(update)) model.off(event, apply);
  };
}

export default { render };
