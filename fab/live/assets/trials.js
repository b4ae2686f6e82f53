"use strict";
// --- trials

/** What stands on the page for one slider.
 * @typedef {{
 *   box: HTMLElement, output: HTMLElement, input: HTMLInputElement, range: HTMLElement,
 *   info: Slider
 * }} KnobParts
 */

/** @type {Map<string, number>} */
const moved = new Map();   // values that are tried, by key
/** @type {Map<string, KnobParts>} */
const knobs = new Map();
let timer = 0;
/** @type {AbortController | null} */
let asking = null;

/** @param {{ values: Record<string, number>, whole: boolean, light: boolean }} question
 * @returns {Promise<Trial | Late>} */
async function ask(question) {
  const answer = await fetch("/trial", {
    method: "POST", headers: { "Content-Type": "application/json" },
    body: JSON.stringify(question), signal: asking?.signal,
  });
  if (!answer.ok) { throw new Error(await answer.text()); }
  return answer.json();
}

async function showSliders() {
  /** @type {Ranges | null} */
  const ranges = await (await fetch("/ranges.json")).json();
  if (!ranges || !state.wall || state.faults.length || ranges.save !== state.save) { return; }
  const found = ranges.sliders, old = JSON.stringify(found);
  if (!found.length || byId("sliders").dataset.ranges === old) { return; }
  const values = JSON.stringify(found.map(one => one.value));
  const other = byId("sliders").dataset.values !== ranges.save + values;
  byId("sliders").dataset.ranges = old;
  byId("sliders").dataset.values = ranges.save + values;
  patch(byId("sliders"), found, one => one.key, one => {
    const box = element("div", "", "knob"), label = element("label", one.name);
    const input = element("input"), output = element("output");
    const range = element("span", "", "range");
    input.type = "range";
    input.id = "knob-" + one.key.replaceAll(".", "-");
    label.htmlFor = input.id;
    label.title = one.about;
    const knob = { box, output, input, range, info: one };
    knobs.set(one.key, knob);
    input.addEventListener("input", () => turn(knob));
    box.append(label, output, input, range);
    return box;
  }, (_, one) => {
    const knob = knobs.get(one.key);
    if (!knob) { return; }
    const { input, range } = knob;
    knob.info = one;
    input.min = String(one.least);
    input.max = String(one.most);
    input.step = "any";
    input.disabled = one.least === one.most;
    setText(range, rangeText(one));
    range.classList.toggle("working", one.working);
    if (!moved.has(one.key)) { input.value = String(one.value); }
    if (moved.get(one.key) === one.value) { moved.delete(one.key); }
    showKnob(knob);
  });
  if (!other) { return; }
  if (moved.size) { later(); } else { endTrial(); }
}

/** "20 to 60 mm. Below: fit.ledge fails." What is not counted yet is told.
 * @param {Slider} one */
function rangeText(one) {
  const range = one.least === one.most ? "No other value passes."
    : `${one.least} to ${one.most} ${one.unit}`.trim() + ".";
  const ends = one.stops.map((ids, k) => ids ? ` ${k ? "Above" : "Below"} fails: ${ids}.` : "");
  return range + ends.join("") + (one.working ? " Being worked out." : "");
}

/** @param {KnobParts} knob */
function showKnob(knob) {
  const one = knob.info, value = moved.get(one.key), unit = one.unit ? " " + one.unit : "";
  knob.box.classList.toggle("moved", value !== undefined);
  setText(knob.output, value === undefined ? one.value + unit : `${one.value} → ${value}${unit}`);
  knob.input.setAttribute("aria-valuetext", (value === undefined ? one.value : value) + unit);
}

/** A slider stands on whole steps away from the value in use.
 * @param {KnobParts} knob */
function turn(knob) {
  const one = knob.info;
  const steps = Math.round((Number(knob.input.value) - one.value) / one.step);
  const value = Math.round((one.value + steps * one.step) * 1e4) / 1e4;
  if (steps === 0) { moved.delete(one.key); }
  else { moved.set(one.key, Math.min(Math.max(value, one.least), one.most)); }
  showKnob(knob);
  later();
}

byId("sliders").addEventListener("keydown", event => {
  /** @type {Record<string, number | undefined>} */
  const steps = {
    ArrowLeft: -1, ArrowDown: -1, ArrowRight: 1, ArrowUp: 1, PageUp: 10, PageDown: -10,
  };
  const step = steps[event.key], knob = [...knobs.values()].find(one => one.input === event.target);
  if (!step || !knob) { return; }
  event.preventDefault();
  const one = knob.info, now = moved.get(one.key) ?? one.value;
  knob.input.value = String(Math.min(Math.max(now + step * one.step, one.least), one.most));
  turn(knob);
});

function later() {
  clearTimeout(timer);
  timer = setTimeout(tryIt, QUIET_MS);
}

async function tryIt() {
  if (!moved.size) { endTrial(); return; }
  if (asking) { asking.abort(); }
  asking = new AbortController();
  const mine = asking, values = Object.fromEntries(moved);
  if (byId("trial-note").hidden) {
    // on a small screen the picture now stays in sight: not over what is turned
    byId("trial-note").hidden = false;
    document.body.classList.add("trying");
    document.activeElement?.closest(".knob")?.scrollIntoView({ block: "nearest" });
  }
  setText(byId("trial-time"), "Working ...");
  try {
    for (const [whole, light] of [[false, false], [true, false], [true, true]]) {
      const found = await ask({ values, whole, light });
      if (mine !== asking) { return; }
      if ("late" in found) { later(); return; } // another page asked meanwhile
      trial = found;
      showTrial(found, light ? "" : whole ? "Light follows ..." : "Zones and screws follow ...");
      if (found.faults.length || found.unbuildable) { break; }
    }
  } catch (error) {
    const says = error instanceof Error ? error.message : String(error);
    if (mine === asking) { setText(byId("trial-time"), says); }
  }
}

/** @param {Trial} found @param {string} follows */
function showTrial(found, follows) {
  const wrong = found.faults.map(one => [one.key, one.says, one.works].filter(Boolean).join(": "));
  const right = follows && !found.unbuildable ? follows : failedText(found);
  setText(byId("trial-time"), wrong.join(" ") || right);
  byId("snippet").hidden = !found.toml;
  setText(byId("toml"), found.toml);
  setText(byId("copied"), "");
  showWords();
  showView();
}

/** Ids of the checks that fail.
 * @param {Partial<Looked>} of */
function failing(of) {
  const rows = of.checks ? of.checks.shown : [];
  return [...new Set(rows.filter(row => row.verdict === "fail").map(row => row.id))];
}

/** Which checks fail of the trial: the list of checks may be far below the picture.
 * @param {Trial} found */
function failedText(found) {
  const before = failing(state), all = failing(found);
  const more = all.filter(id => !before.includes(id)), ids = more.length ? more : all;
  if (!all.length) { return "Checked: no check fails."; }
  const fails = ids.length > 1 ? "fail" : "fails";
  return `Checked: ${ids.join(", ")} ${fails}${more.length ? "" : ", as saved"}.`;
}

function endTrial() {
  clearTimeout(timer);
  if (asking) { asking.abort(); asking = null; }
  moved.clear();
  knobs.forEach(knob => { knob.input.value = String(knob.info.value); showKnob(knob); });
  byId("trial-note").hidden = true;
  document.body.classList.remove("trying");
  byId("snippet").hidden = true;
  if (trial) { trial = null; showWords(); showView(); }
}

byId("trial-end").addEventListener("click", () => { endTrial(); byId("view").focus(); });
byId("copy").addEventListener("click", async () => {
  const text = byId("toml").textContent;
  try {
    await navigator.clipboard.writeText(text);
    setText(byId("copied"), "Copied.");
  } catch {
    getSelection()?.selectAllChildren(byId("toml"));
    setText(byId("copied"), "Selected: copy with the keyboard.");
  }
});
