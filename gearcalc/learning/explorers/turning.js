// What turns a picture on the page: no word to the kernel while it turns. It stands before shell.js in one module.
//
// The picture says how: its root has data-first-driver (turns of the first driver for one turn of the spindle, less
// than zero when anticlockwise), data-last-turn (where the carriage is at its end), data-tooth (turns of the
// spindle from one tooth of the first mesh to the next) and data-most-teeth (that pass the busiest mesh in a turn).
// In it, data-turns turns by so many turns for one of the first driver, from data-rest degrees; data-travel moves
// along by so many pixels, and data-count counts so many to data-places, for one turn of the spindle.

const TEETH_A_SECOND = ["2", "8", "20"];  // two can be counted aloud; many more seem to stand still on a screen
const STEP_TEETH_A_SECOND = 30, SHORTEST_STEP_S = 0.15, LONGEST_STEP_S = 2.5, LONGEST_FRAME_S = 0.1;
const HAIR = 1e-9;  // so that 40 teeth are 40 after a sum of many frames

function turningParts(svg) {
  const number = (element, name) => Number(element.dataset[name]);
  return {
    wheels: [...svg.querySelectorAll("[data-turns]")].map((element) => (
      { element, rest: number(element, "rest"), degrees: 360 * number(element, "turns") * number(svg, "firstDriver") })),
    slides: [...svg.querySelectorAll("[data-travel]")].map((element) => ({ element, travel: number(element, "travel") })),
    counts: [...svg.querySelectorAll("[data-count]")].map((element) => (
      { element, count: number(element, "count"), places: number(element, "places"), words: element.dataset.words })),
    last: number(svg, "lastTurn"), tooth: number(svg, "tooth"), teeth: number(svg, "mostTeeth"),
  };
}

function turnTo(parts, turns) {
  for (const { element, rest, degrees } of parts.wheels) {
    element.setAttribute("transform", `rotate(${((rest + degrees * turns) % 360).toFixed(3)})`);
  }
  for (const { element, travel } of parts.slides) {
    element.setAttribute("transform", `translate(${(travel * turns).toFixed(3)} 0)`);
  }
  for (const { element, count, places } of parts.counts) {
    const counted = count * turns;
    const text = places === 0 ? String(Math.floor(counted + HAIR)) : counted.toFixed(places);
    if (element.textContent !== text) element.textContent = text;
  }
}

function turningControls(picture) {
  let parts = null, turns = 0, goal = null, pace = 0, request = 0, before = 0, speed = Number(TEETH_A_SECOND[1]);
  const said = make("p", { class: "gearcalc-said", role: "status", "aria-live": "polite" });
  const still = () => matchMedia("(prefers-reduced-motion: reduce)").matches;

  const say = () => {
    const end = turns >= parts.last ? " The carriage is at the end of the bar." : "";
    said.textContent = parts.counts.map(({ element, words }) => `${words}: ${element.textContent}`).join("; ") + "." + end;
  };
  const rest = () => {
    cancelAnimationFrame(request);
    request = 0;
    goal = null;
    picture.classList.remove("gearcalc-on-the-move");
    offer("►", "Play");
  };
  const standAt = (place) => {
    rest();
    turns = place;
    turnTo(parts, turns);
    say();
  };
  const frame = (now) => {
    if (!picture.isConnected) { rest(); return; }
    const seconds = Math.min(Math.max((now - before) / 1000, 0), LONGEST_FRAME_S);
    before = now;
    const end = goal ?? parts.last;
    const step = seconds * (goal === null ? speed / parts.teeth : pace);
    turns = end > turns ? Math.min(turns + step, end) : Math.max(turns - step, end);
    turnTo(parts, turns);
    if (turns === end) { rest(); say(); } else request = requestAnimationFrame(frame);
  };
  const start = () => {
    cancelAnimationFrame(request);
    picture.classList.add("gearcalc-on-the-move");
    before = performance.now();
    request = requestAnimationFrame(frame);
  };

  const stepBy = (unitOf, way) => {
    if (parts === null) return;
    const unit = unitOf(parts), from = (goal ?? turns) / unit;
    const next = way > 0 ? Math.floor(from + HAIR) + 1 : Math.ceil(from - HAIR) - 1;
    const end = Math.min(Math.max(next * unit, 0), parts.last);
    if (still()) { standAt(end); return; }
    rest();
    const far = Math.abs(end - turns);
    pace = far / Math.min(Math.max(far * parts.teeth / STEP_TEETH_A_SECOND, SHORTEST_STEP_S), LONGEST_STEP_S);
    goal = end;
    start();
  };
  const aTurn = () => 1, aTooth = (of) => of.tooth;
  const toStart = () => { if (parts !== null) standAt(0); };
  const playOrPause = () => {
    if (parts === null) return;
    if (request !== 0 && goal === null) { rest(); say(); return; }
    if (turns >= parts.last) turns = 0;
    if (still()) { stepBy(aTurn, 1); return; }
    goal = null;
    offer("▌▌", "Pause");
    start();
  };

  const play = button("", playOrPause);
  play.classList.add("gearcalc-play");
  const offer = (sign, word) => play.replaceChildren(
    make("span", { "aria-hidden": "true", class: "gearcalc-sign" }, sign), word);
  offer("►", "Play");
  const buttons = make("div", { class: "gearcalc-buttons", role: "group", "aria-label": "Turn the spindle" },
    play,
    button("− 1 turn", () => stepBy(aTurn, -1)),
    button("− 1 tooth", () => stepBy(aTooth, -1)),
    button("+ 1 tooth", () => stepBy(aTooth, 1)),
    button("+ 1 turn", () => stepBy(aTurn, 1)),
    button("To the start", toStart));
  const id = newId();
  const speeds = choiceControl({ label: "Teeth a second", options: TEETH_A_SECOND }, id, (given) => { speed = Number(given); });
  speeds.show(String(speed));
  const speedRow = make("div", { class: "gearcalc-speed" },
    make("span", { class: "gearcalc-label", "aria-hidden": "true" }, "Teeth a second"), speeds.element);
  return {
    element: make("div", { class: "gearcalc-turning" }, buttons, speedRow, said),
    follow() {  // another picture: go on from the same turn of the spindle
      const svg = picture.querySelector("svg");
      parts = svg === null ? null : turningParts(svg);
      if (parts === null) { rest(); return; }
      turns = Math.min(turns, parts.last);
      if (goal !== null) rest();
      turnTo(parts, turns);
    },
    stop: rest,
  };
}
