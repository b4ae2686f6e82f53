"use strict";
// Follows the job: hears of a new revision, fetches the state, and changes only what differs.
// Every text goes in as text; pictures are parsed as SVG and never run.

const VIEWS = { wall: "Wall", section: "Section", sheets: "Sheets", light: "Light", solid: "3D" };
/** @type {Record<string, string>} */
const WORDS = { fail: "FAIL", warn: "look", pass: "pass" };
const QUIET_MS = 120;      // a slider that rests so long is tried
const AGAIN_MS = 1000;     // a lost connection is tried again

/** @typedef {keyof typeof VIEWS} ViewName */
const NAMES = /** @type {ViewName[]} */ (Object.keys(VIEWS));

/** The newest state of the files; save 0: there was none yet. @type {State} */
let state = { save: 0, busy: false, notice: "", faults: [], views: {} };
/** @type {Trial | null} */
let trial = null;          // the newest answer to a trial, while one is on
/** @type {State["views"]} */
let pictures = {};         // views other than the wall
/** @type {Record<string, Picture | undefined>} */
let older = {};            // pictures before the last save, by name
/** @type {Record<string, Picture | undefined>} */
let current = {};          // pictures of the last save that was shown, by name
let view = NAMES.find(name => "#" + name === location.hash) ?? "wall";
let zoom = 1;
let lastSave = 0;

/** @param {string} id of an element that the page has */
function byId(id) {
  const found = document.getElementById(id);
  if (!found) { throw new Error("The page has no " + id + "."); }
  return found;
}

/** @template {keyof HTMLElementTagNameMap} T
 * @param {T} tag @param {string} [text] @param {string} [css] */
function element(tag, text, css) {
  const made = document.createElement(tag);
  if (text) { made.textContent = text; }
  if (css) { made.className = css; }
  return made;
}

/** @param {Node} node @param {string} text */
function setText(node, text) {
  if (node.textContent !== text) { node.textContent = text; }
}

/** Keeps the children of a list that are already there: key by key, made once, then updated.
 * @template Item
 * @template {HTMLElement} Made
 * @param {Element} list
 * @param {Item[]} items
 * @param {(item: Item) => string} keyOf
 * @param {(item: Item) => Made} make
 * @param {(node: Made, item: Item) => void} [update] */
function patch(list, items, keyOf, make, update) {
  // the list holds what was made here alone
  const children = /** @type {Made[]} */ ([...list.children]);
  const there = new Map(children.map(child => [child.dataset.key, child]));
  let place = list.firstElementChild;
  items.forEach(item => {
    const key = keyOf(item);
    let node = there.get(key);
    there.delete(key);
    if (!node) {
      node = make(item);
      node.dataset.key = key;
    }
    if (place && node === place) { place = place.nextElementSibling; }
    else { list.insertBefore(node, place); }
    update?.(node, item);
  });
  there.forEach(node => node.remove());
}

// --- words

/** @returns {Partial<Looked>} */
function shownState() { return trial && trial.rows ? trial : state; }

function showWords() {
  const now = shownState();
  byId("faults").hidden = !state.faults.length;
  showFaults(state.faults);
  document.title = (state.faults.length ? "(!) " : "") + (state.job || "panejig");
  setText(byId("job"), state.job || "panejig");
  setText(byId("title"), state.title || "");
  if (now.rows) { showRows(now.rows); }
  if (now.checks) { showChecks(now.checks, Boolean(now.wired || now.unbuildable)); }
}

/** @param {Fault[]} faults */
function showFaults(faults) {
  patch(byId("fault-list"), faults, fault => JSON.stringify(fault), fault => {
    const row = element("li");
    const line = fault.line ? "line " + fault.line : "";
    const place = [fault.file, line, fault.key].filter(Boolean).join(", ");
    if (place) { row.append(element("span", place, "place"), document.createTextNode(": ")); }
    row.append(element("span", fault.says));
    if (fault.text) { row.append(element("pre", fault.text)); }
    if (fault.works) { row.append(element("p", fault.works)); }
    return row;
  });
  byId("faults-note").hidden = !state.wall;
}

/** @param {Figure[]} rows */
function showRows(rows) {
  patch(byId("rows"), rows, row => row.name, row => {
    const pair = element("div");
    pair.append(element("dt", row.name), element("dd"));
    return pair;
  }, (pair, row) => {
    pair.className = row.before ? "new" : row.stale ? "stale" : "";
    const value = pair.children[1], text = row.before ? row.before + " → " + row.text : row.text;
    const marked = value.firstElementChild !== null;
    if (value.textContent === text && marked === Boolean(row.before)) { return; }
    value.replaceChildren();
    if (row.before) { value.append(element("span", row.before + " → ", "was")); }
    value.append(document.createTextNode(row.text));
  });
}

/** @param {Checks} found @param {boolean} all */
function showChecks(found, all) {
  const count = found.counted;
  const waits = all ? "" : " Power, heat and screws follow.";
  setText(byId("counted"), found.known
    ? `${count.fail} failed, ${count.warn} to look at, ${count.pass} passed.${waits}`
    : "Checking ...");
  if (!found.known) { return; }
  /** @type {Record<string, number>} */
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
    const was = row.before ? ` Before: ${row.before}.` : "";
    setText(figures, `Measured ${row.measured}, limit ${row.limit}.${was}`);
    setText(says, row.says);
    setText(remedy, row.remedy);
    remedy.toggleAttribute("hidden", !row.remedy);
  });
  const tight = found.tight.length;
  const passes = tight === 1 ? "1 check passes" : `${tight} checks pass`;
  lines("tight", found.tight, `${passes} narrowly (less than 10 % room)`);
  lines("quiet", found.quiet, `${found.others} more pass`);
}

/** @param {string} name @param {Line[]} rows @param {string} head */
function lines(name, rows, head) {
  byId(name).hidden = !rows.length;
  setText(byId(name + "-sum"), head);
  patch(byId(name + "-list"), rows, row => row.name, () => element("li"),
    (item, row) => setText(item, row.text));
}
