"use strict";
// Follows the job: hears of a new revision, fetches the state, and changes only what differs.
// Every text goes in as text; pictures are parsed as SVG and never run.

const VIEWS = { wall: "Wall", section: "Section", sheets: "Sheets", light: "Light", solid: "3D" };
const WORDS = { fail: "FAIL", warn: "look", pass: "pass" };
const QUIET_MS = 120;      // a slider that rests so long is tried
const AGAIN_MS = 1000;     // a lost connection is tried again

let state = null;          // the newest state of the files
let trial = null;          // the newest answer to a trial, while one is on
let pictures = {};         // views other than the wall
let older = {};            // pictures before the last save, by name
let current = {};          // pictures of the last save that was shown, by name
let view = VIEWS[location.hash.slice(1)] ? location.hash.slice(1) : "wall";
let zoom = 1;
let lastSave = null;

const byId = id => document.getElementById(id);

function element(tag, text, css) {
  const made = document.createElement(tag);
  if (text) { made.textContent = text; }
  if (css) { made.className = css; }
  return made;
}

function setText(node, text) {
  if (node.textContent !== text) { node.textContent = text; }
}

// Keeps the children of a list that are already there: key by key, made once, then updated.
function patch(list, items, keyOf, make, update) {
  const there = new Map([...list.children].map(child => [child.dataset.key, child]));
  let place = list.firstElementChild;
  items.forEach((item, number) => {
    const key = keyOf(item, number);
    let node = there.get(key);
    there.delete(key);
    if (!node) {
      node = make(item);
      node.dataset.key = key;
    }
    if (node === place) { place = place.nextElementSibling; } else { list.insertBefore(node, place); }
    update(node, item);
  });
  there.forEach(node => node.remove());
}

// --- words

function shownState() { return trial && trial.rows ? trial : state; }

function showWords() {
  const now = shownState();
  byId("faults").hidden = !state.faults.length;
  showFaults(state.faults);
  document.title = (state.faults.length ? "(!) " : "") + (state.job || "panejig");
  setText(byId("job"), state.job || "panejig");
  setText(byId("title"), state.title || "");
  if (now.rows) { showRows(now.rows); showChecks(now); }
}

function showFaults(faults) {
  patch(byId("fault-list"), faults, fault => JSON.stringify(fault), fault => {
    const row = element("li");
    const place = [fault.file, fault.line ? "line " + fault.line : "", fault.key].filter(Boolean).join(", ");
    if (place) { row.append(element("span", place, "place"), document.createTextNode(": ")); }
    row.append(element("span", fault.says));
    if (fault.text) { row.append(element("pre", fault.text)); }
    if (fault.works) { row.append(element("p", fault.works)); }
    return row;
  }, () => {});
  byId("faults-note").hidden = !state.wall;
}

function showRows(rows) {
  patch(byId("rows"), rows, row => row.name, row => {
    const pair = element("div");
    pair.append(element("dt", row.name), element("dd"));
    return pair;
  }, (pair, row) => {
    pair.className = row.before ? "new" : row.stale ? "stale" : "";
    const value = pair.lastChild, text = row.before ? row.before + " → " + row.text : row.text;
    if (value.textContent === text && (value.firstElementChild !== null) === Boolean(row.before)) { return; }
    value.replaceChildren();
    if (row.before) { value.append(element("span", row.before + " → ", "was")); }
    value.append(document.createTextNode(row.text));
  });
}

function showChecks(now) {
  const found = now.checks, count = found.counted;
  const waits = now.wired || now.unbuildable ? "" : " Power, heat and screws follow.";
  setText(byId("counted"), found.known
    ? `${count.fail} failed, ${count.warn} to look at, ${count.pass} passed.${waits}` : "Checking ...");
  if (!found.known) { return; }
  const seen = {};
  patch(byId("shown"), found.shown, row => {
    const key = row.id + "|" + row.subject;
    seen[key] = (seen[key] || 0) + 1;
    return key + "|" + seen[key];
  }, () => {
    const item = element("li"), head = element("p");
    head.append(element("span", "", "badge"), document.createTextNode(" "), element("strong"));
    item.append(head, element("p"), element("p"), element("p"));
    return item;
  }, (item, row) => {
    const [head, figures, says, remedy] = item.children;
    item.className = row.verdict + (row.turned ? " turned" : "");
    item.title = row.source ? "Source of the limit: " + row.source : "";
    setText(head.children[0], WORDS[row.verdict]);
    setText(head.children[1], `${row.id}, ${row.subject}`);
    setText(figures, `Measured ${row.measured}, limit ${row.limit}.` + (row.before ? ` Before: ${row.before}.` : ""));
    setText(says, row.says);
    setText(remedy, row.remedy);
    remedy.hidden = !row.remedy;
  });
  lines("tight", found.tight, found.tight.length === 1 ? "1 check passes narrowly (less than 10 % room)"
    : `${found.tight.length} checks pass narrowly (less than 10 % room)`);
  lines("quiet", found.quiet, `${found.others} more pass`);
}

function lines(name, rows, head) {
  byId(name).hidden = !rows.length;
  setText(byId(name + "-sum"), head);
  patch(byId(name + "-list"), rows, row => row.name, () => element("li"), (item, row) => setText(item, row.text));
}

// --- pictures

function drawing(svg) {
  const parsed = new DOMParser().parseFromString(svg, "image/svg+xml").documentElement;
  const node = document.importNode(parsed, true);
  node.removeAttribute("width");
  node.removeAttribute("height");
  return node;
}

function wallPicture() {
  const now = shownState();
  return now && now.wall ? { name: "wall", title: "The wall from the front, not mirrored.", svg: now.wall, legend: now.legend } : null;
}

function picturesOf(name) {
  if (name === "wall") { const wall = wallPicture(); return wall ? [wall] : []; }
  return pictures[name] ? pictures[name].pictures : [];
}

function showView() {
  const stage = byId("stage"), old = byId("before").checked;
  const stale = view !== "wall" && (trial || (state.views[view] || {}).stale);
  stage.classList.toggle("dim", Boolean(state.faults.length));
  stage.classList.toggle("old", Boolean(stale) && !state.faults.length);
  byId("smaller").hidden = byId("larger").hidden = view === "solid";
  byId("before-label").hidden = view === "solid" || Boolean(trial) || !picturesOf(view).some(one => older[one.name]);
  const changed = view === "wall" ? shownState().changed || "" : "";
  setText(byId("changed"), changed);
  byId("changed").title = changed;
  if (view === "solid") { showSolid(stage); return; }
  const shown = picturesOf(view).map(one => old && older[one.name] ? older[one.name] : one);
  const solid = byId("solid");
  if (solid) { solid.hidden = true; }
  if (!shown.length) {
    const none = state.views[view] && !state.views[view].stale;
    patch(stage, [0], () => "waits", () => element("p", "", "waits"), node =>
      setText(node, none ? "This wall has none." : state.busy ? "This picture follows." : "There is no picture: see the checks."));
    return;
  }
  const kept = solid ? [{ name: "solid" }] : [];
  patch(stage, [...kept, ...shown], one => one.name, one => {
    const figure = element("figure");
    figure.append(document.createElement("span"), element("figcaption"));
    return figure;
  }, (figure, one) => {
    if (one.name === "solid") { return; }
    const mark = one.svg || one.png;
    if (figure.shown !== mark) {
      figure.shown = mark;
      let made = one.svg ? drawing(one.svg) : document.createElement("img");
      if (one.png) {
        made.src = "data:image/png;base64," + one.png;
        made.alt = one.says;
        made.width = one.width;
        made.height = one.height;
      }
      figure.firstChild.replaceWith(made);
    }
    figure.firstChild.style.width = zoom === 1 ? "" : zoom * 100 + "%";
    caption(figure.lastChild, one);
  });
}

// Title and legend; the last legend stays until zones and screws are known.
function caption(place, one) {
  if (!place.firstChild) { place.append(element("span"), element("ul", "", "legend")); }
  setText(place.firstChild, one.title);
  if (!one.legend || !one.legend.length) { return; }
  patch(place.lastChild, one.legend, key => key.word, key => {
    const entry = element("li");
    if (key.svg) { entry.append(keyMark(key.svg)); }
    entry.append(key.word);
    return entry;
  }, () => {});
}

function keyMark(svg) {
  const mark = drawing(svg), [, , wide, high] = mark.getAttribute("viewBox").split(" ").map(Number);
  mark.setAttribute("width", wide * 4);
  mark.setAttribute("height", high * 4);
  mark.setAttribute("aria-hidden", "true");
  return mark;
}

let sceneKey = "", viewer = null;

async function showSolid(stage) {
  const key = (state.views.solid || {}).key;
  let place = byId("solid");
  patch(stage, [0], () => "solid", () => {
    place = element("figure", "", "viewer");
    place.id = "solid";
    return place;
  }, node => { node.hidden = false; });
  place = byId("solid");
  if (!key) {
    if (!place.firstChild) { place.append(element("p", "This view follows.", "waits")); }
    return;
  }
  if (sceneKey === key) { return; }
  sceneKey = key;
  const scene = await (await fetch("/scene.json")).json();
  if (!scene) { sceneKey = ""; return; }
  scene.things.filter(thing => thing.file).forEach(thing => { // files are not served
    Object.assign(thing, { note: "File: " + thing.file, file: "" });
  });
  const fields = () => [...place.querySelectorAll("canvas, input, select, button")];
  const focused = fields().indexOf(document.activeElement), was = viewer && viewer.how();
  if (viewer) { viewer.end(); }
  place.replaceChildren();
  viewer = view3d(place, scene, was);
  if (focused >= 0 && fields()[focused]) { fields()[focused].focus({ preventScroll: true }); }
}

function showTabs() {
  patch(byId("tabs"), Object.keys(VIEWS), name => name, name => {
    const tab = element("button", VIEWS[name]);
    tab.type = "button";
    tab.id = "tab-" + name;
    tab.setAttribute("role", "tab");
    tab.setAttribute("aria-controls", "view");
    tab.addEventListener("click", () => choose(name));
    return tab;
  }, (tab, name) => {
    const chosen = name === view, its = state.views[name] || {};
    tab.setAttribute("aria-selected", String(chosen));
    tab.tabIndex = chosen ? 0 : -1;
    const list = name === "wall" ? [] : picturesOf(name);
    const changed = tab.classList.toggle("changed", name === "wall" ? Boolean(state.changed) : (its.changed || list.some(one => one.changed)) && !its.stale);
    tab.setAttribute("aria-label", VIEWS[name] + (changed ? ", changed" : ""));
    tab.classList.toggle("stale", name !== "wall" && (!its.key || Boolean(its.stale)));
  });
  byId("view").setAttribute("aria-labelledby", "tab-" + view);
}

function choose(name) {
  view = name;
  history.replaceState(null, "", "#" + name);
  showTabs();
  showView();
}

byId("tabs").addEventListener("keydown", event => {
  const names = Object.keys(VIEWS), step = { ArrowLeft: -1, ArrowRight: 1 }[event.key];
  if (!step) { return; }
  choose(names[(names.indexOf(view) + step + names.length) % names.length]);
  byId("tab-" + view).focus();
  event.preventDefault();
});
byId("larger").addEventListener("click", () => { zoom = Math.min(6, zoom * 1.25); showView(); });
byId("smaller").addEventListener("click", () => { zoom = Math.max(1, zoom / 1.25); showView(); });
byId("before").addEventListener("change", showView);

// What the pictures showed at the save before the one that is shown.
function remember() {
  const all = Object.keys(VIEWS).flatMap(name => name === "wall" ? [] : picturesOf(name));
  if (state.wall) { all.push({ name: "wall", title: "The wall before the last save.", svg: state.wall }); }
  if (state.save !== lastSave && !state.faults.length) {
    older = current;
    current = {};
    lastSave = state.save;
  }
  all.forEach(one => { current[one.name] = one; });
}

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

// --- news

let fetching = false, wanted = false, pictureKeys = "";

async function refresh() {
  wanted = true;
  if (fetching) { return; }
  fetching = true;
  try {
    while (wanted) {
      wanted = false;
      const found = await (await fetch("/state.json")).json();
      if (!found) { continue; }
      state = found;
      const keys = JSON.stringify(Object.values(state.views).map(one => one.key));
      if (keys !== pictureKeys) {
        pictures = await (await fetch("/pictures.json")).json();
        pictureKeys = keys;
      }
      remember();
      showWords();
      showTabs();
      showView();
      showSliders();
      document.body.dataset.save = state.save;
      document.body.dataset.busy = String(state.busy);
    }
  } finally { fetching = false; }
}

function showStatus(working) {
  const line = byId("status");
  const busy = Boolean(working) || Boolean(state && state.busy);
  line.classList.toggle("busy", busy);
  setText(line, busy ? "Working" + (working ? ": " + working : "") : !state ? "Waiting." : state.faults.length ? "Not read."
    : state.notice || "Save " + state.save + ": all made.");
}

let working = "", revision = -1;

function listen() {
  const events = new EventSource("/events");
  events.onmessage = async event => {
    const news = JSON.parse(event.data);
    working = news.working;
    if (news.revision !== revision) {
      revision = news.revision;
      try { await refresh(); } catch { revision = -1; }
    }
    showStatus(working);
  };
  events.onerror = () => {
    events.close();
    revision = -1;
    byId("status").classList.remove("busy");
    setText(byId("status"), "The watch has ended, or can not be reached.");
    setTimeout(listen, AGAIN_MS);
  };
}

listen();
