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
