// What asks on a page: words, boxes or choices, buttons, a line that says how it went. The kernel makes the words.

function boxField(field, id, said, send) {
  const box = typedBox({ id, maxlength: 400, class: "gearcalc-text", "aria-label": said }, send);
  if (field.numeric) box.element.setAttribute("inputmode", "numeric");
  return box;
}

// Buttons, not radio buttons: the arrow keys would answer with each that they pass.
function choiceField(field, id, said, send) {
  const group = make("span", { class: "gearcalc-buttons", role: "group", "aria-label": said, id });
  const options = field.options.map((option) => {
    const element = button(option, () => send(option));
    element.classList.add("gearcalc-option");
    group.append(element);
    return element;
  });
  const show = (value) => options.forEach((element, place) => {
    element.setAttribute("aria-pressed", String(field.options[place] === value));
  });
  return { element: group, show };
}

// Formulas are set by the page's own way of setting them, which a widget of the usual kind knows.
async function showFormulas(model, into) {
  const reference = model.get("formulas");
  if (!reference) return;
  const inner = await model.widget_manager.get_model(reference.slice("IPY_MODEL_".length));
  const view = await model.widget_manager.create_view(inner);
  into.append(view.el);
  view.trigger("displayed");  // for which it waits before it sets any
}

// A button that has a file chosen: what is in it is sent, if it is no larger than any file of ours.
function fileButton(label, ending, send) {
  const chooser = make("input", { type: "file", accept: ending, hidden: "", "aria-label": label });
  chooser.addEventListener("change", async () => {
    const [file] = chooser.files;
    if (file) send(file.size > 2_000_000 ? "too large" : await file.text());
    chooser.value = "";
  });
  const element = button(label, () => chooser.click());
  element.append(chooser);
  return element;
}

function saveFile(name, text) {
  const address = URL.createObjectURL(new Blob([text], { type: "application/json" }));
  const link = make("a", { href: address, download: name });
  document.body.append(link);
  link.click();
  link.remove();
  setTimeout(() => URL.revokeObjectURL(address), 60_000);
}

function render({ model, el }) {
  const title = make("h3", { class: "gearcalc-title" });
  const question = make("div", { class: "gearcalc-question" });
  const fields = make("div", { class: "gearcalc-fields" });
  const buttons = make("div", { class: "gearcalc-buttons" });
  const said = make("div", { class: "gearcalc-outcome", role: "status", "aria-live": "polite" });
  const help = make("div", { class: "gearcalc-help" });
  const foot = make("div", { class: "gearcalc-foot" });
  const whole = make("section", { class: "gearcalc-explorer gearcalc-asking", role: "group", "aria-label": model.get("title") },
    title, question, fields, buttons, said, help, foot);
  let show = {};

  const update = {
    "change:title": () => { title.firstChild?.remove(); title.prepend(model.get("title")); title.hidden = !model.get("title"); },
    "change:whose": () => {
      title.querySelector("small")?.remove();
      if (model.get("whose")) title.append(make("small", {}, model.get("whose")));
    },
    "change:question": () => { question.innerHTML = model.get("question"); },
    "change:fields": () => {
      const hadFocus = fields.contains(document.activeElement);
      show = {};
      fields.replaceChildren(...model.get("fields").map((field) => {
        const id = newId();
        const send = (text) => model.send({ typed: field.name, text });
        const name = field.said ?? `${field.label} ${model.get("title")}`;
        const built = (field.options ? choiceField : boxField)(field, id, name, send);
        show[field.name] = built.show;
        const label = field.options
          ? make("span", { class: "gearcalc-label", "aria-hidden": "true" }, field.label)
          : make("label", { class: "gearcalc-label", for: id }, field.label);
        return make("div", { class: "gearcalc-field" }, label, built.element);
      }));
      if (hadFocus) fields.querySelector("input, button")?.focus();
    },
    "change:values": () => {
      for (const [name, value] of Object.entries(model.get("values"))) show[name]?.(value);
    },
    "change:buttons": () => {
      const focused = [...buttons.children].indexOf(document.activeElement);
      buttons.replaceChildren(...model.get("buttons").map(([name, label, pressed, ending]) => {
        const element = ending
          ? fileButton(label, ending, (text) => model.send({ file: text }))
          : button(label, () => model.send({ pressed: name }));
        element.classList.add("gearcalc-option");
        if (pressed !== undefined && pressed !== null) element.setAttribute("aria-expanded", String(pressed));
        return element;
      }));
      buttons.children[focused]?.focus();
    },
    "change:said": () => { said.innerHTML = model.get("said"); },
    "change:foot": () => { foot.innerHTML = model.get("foot"); },
  };
  // The boxes come before what stands in them, also where both arrive at once.
  const fieldsThenValues = () => { update["change:fields"](); update["change:values"](); };
  const follow = { ...update, "change:fields": fieldsThenValues };
  for (const [event, apply] of Object.entries(follow)) { model.on(event, apply); apply(); }
  showFormulas(model, help);
  const hear = ({ save, text }) => { if (save) saveFile(save, text); };
  model.on("msg:custom", hear);
  const forget = tellOfRestart(model, el, whole);
  return () => {
    forget();
    for (const [event, apply] of Object.entries(follow)) model.off(event, apply);
    model.off("msg:custom", hear);
  };
}

export default { render };
