"use strict";
// --- trials

const moved = new Map();
let timer = null, asking = null;

async function ask(path, question) {
  const answer = await fetch(path, {
    method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(question), signal: asking && asking.signal,
  });
  if (!answer.ok) { throw new Error(await answer.text()); }
  return answer.json();
}

async function showSliders() {
  const ranges = await (await fetch("/ranges.json")).json();
  if (!ranges || !state.wall || state.faults.length || ranges.save !== state.save) { return; }
  const found = ranges.sliders, old = JSON.stringify(found);
  if (!found.length || byId("sliders").dataset.ranges === old) { return; }
  const values = JSON.stringify(found.map(one => one.value));
  const other = byId("sliders").dataset.values !== ranges.save + values;
  byId("sliders").dataset.ranges = old;
  byId("sliders").dataset.values = ranges.save + values;
  patch(byId("sliders"), found, one => one.key, one => {
    const box = element("div", "", "knob"), label = element("label", one.name), input = document.createElement("input");
    input.type = "range";
    input.id = "knob-" + one.key.replaceAll(".", "-");
    label.htmlFor = input.id;
    label.title = one.about;
    input.addEventListener("input", () => turn(one.key, input));
    box.append(label, document.createElement("output"), input, element("span", "", "range"));
    return box;
  }, (box, one) => {
    const input = box.children[2];
    box.info = one;
    input.min = one.least;
    input.max = one.most;
    input.step = "any";
    input.disabled = one.least === one.most;
    setText(box.children[3], rangeText(one));
    box.children[3].classList.toggle("working", one.working);
    if (!moved.has(one.key)) { input.value = one.value; }
    if (moved.get(one.key) === one.value) { moved.delete(one.key); }
    showKnob(box);
  });
  if (!other) { return; }
  if (moved.size) { later(); } else { endTrial(); }
}

// "20 to 60 mm. Below: fit.ledge fails." What is not counted yet is told.
function rangeText(one) {
  const range = one.least === one.most ? "No other value passes." : `${one.least} to ${one.most} ${one.unit}`.trim() + ".";
  const ends = one.stops.map((ids, k) => ids ? ` ${k ? "Above" : "Below"} fails: ${ids}.` : "").join("");
  return range + ends + (one.working ? " Being worked out." : "");
}

function showKnob(box) {
  const one = box.info, value = moved.get(one.key), unit = one.unit ? " " + one.unit : "";
  box.classList.toggle("moved", value !== undefined);
  setText(box.children[1], value === undefined ? one.value + unit : `${one.value} → ${value}${unit}`);
  box.children[2].setAttribute("aria-valuetext", (value === undefined ? one.value : value) + unit);
}

// A slider stands on whole steps away from the value in use.
function turn(key, input) {
  const box = input.parentNode, one = box.info;
  const steps = Math.round((Number(input.value) - one.value) / one.step);
  const value = Math.round((one.value + steps * one.step) * 1e4) / 1e4;
  if (steps === 0) { moved.delete(key); } else { moved.set(key, Math.min(Math.max(value, one.least), one.most)); }
  showKnob(box);
  later();
}

byId("sliders").addEventListener("keydown", event => {
  const step = { ArrowLeft: -1, ArrowDown: -1, ArrowRight: 1, ArrowUp: 1, PageUp: 10, PageDown: -10 }[event.key];
  const input = event.target;
  if (!step || input.type !== "range") { return; }
  event.preventDefault();
  const one = input.parentNode.info, now = moved.get(one.key) ?? one.value;
  input.value = Math.min(Math.max(now + step * one.step, one.least), one.most);
  turn(one.key, input);
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
  if (byId("trial-note").hidden) { // on a small screen the picture now stays in sight: not over what is turned
    byId("trial-note").hidden = false;
    document.body.classList.add("trying");
    const knob = document.activeElement.closest(".knob");
    if (knob) { knob.scrollIntoView({ block: "nearest" }); }
  }
  setText(byId("trial-time"), "Working ...");
  try {
    for (const [whole, light] of [[false, false], [true, false], [true, true]]) {
      const found = await ask("/trial", { values, whole, light });
      if (mine !== asking) { return; }
      if (found.late) { later(); return; } // another page asked meanwhile
      trial = found;
      showTrial(light ? "" : whole ? "Light follows ..." : "Zones and screws follow ...");
      if (found.faults.length || found.unbuildable) { break; }
    }
  } catch (error) {
    if (mine === asking) { setText(byId("trial-time"), String(error.message)); }
  }
}

function showTrial(follows) {
  const wrong = trial.faults.map(fault => [fault.key, fault.says, fault.works].filter(Boolean).join(": ")).join(" ");
  setText(byId("trial-time"), wrong || (follows && !trial.unbuildable ? follows : failedText()));
  byId("snippet").hidden = !trial.toml;
  setText(byId("toml"), trial.toml || "");
  setText(byId("copied"), "");
  showWords();
  showView();
}

// Which checks fail of the trial: the list of checks may be far below the picture.
function failedText() {
  const failing = rows => [...new Set(rows.filter(row => row.verdict === "fail").map(row => row.id))];
  const before = failing(state.checks.shown), all = failing(trial.checks.shown);
  const more = all.filter(id => !before.includes(id)), fails = all.length > 1 ? "fail" : "fails";
  if (!all.length) { return "Checked: no check fails."; }
  return more.length ? `Checked: ${more.join(", ")} ${more.length > 1 ? "fail" : "fails"}.` : `Checked: ${all.join(", ")} ${fails}, as saved.`;
}

function endTrial() {
  clearTimeout(timer);
  if (asking) { asking.abort(); asking = null; }
  moved.clear();
  [...byId("sliders").children].forEach(box => { box.children[2].value = box.info.value; showKnob(box); });
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
    getSelection().selectAllChildren(byId("toml"));
    setText(byId("copied"), "Selected: copy with the keyboard.");
  }
});
