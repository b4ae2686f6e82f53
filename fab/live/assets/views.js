"use strict";
// --- pictures

/** @param {string} svg */
function drawing(svg) {
  /** @type {Element} */
  const parsed = new DOMParser().parseFromString(svg, "image/svg+xml").documentElement;
  // the parser was told that it is SVG
  const node = /** @type {SVGElement} */ (document.importNode(parsed, true));
  node.removeAttribute("width");
  node.removeAttribute("height");
  return node;
}

/** @param {ViewName} name
 * @returns {Picture[]} */
function picturesOf(name) {
  if (name !== "wall") { return pictures[name]?.pictures ?? []; }
  const { wall, legend } = shownState();
  const title = "The wall from the front, not mirrored.";
  return wall ? [{ name: "wall", title, svg: wall, legend }] : [];
}

/** @param {Picture} one */
function pictured(one) {
  if (one.svg) { return drawing(one.svg); }
  const made = element("img");
  made.src = "data:image/png;base64," + one.png;
  made.alt = one.says ?? "";
  made.width = one.width ?? 0;
  made.height = one.height ?? 0;
  return made;
}

const before = /** @type {HTMLInputElement} */ (byId("before"));
/** @type {WeakMap<Element, string | undefined>} */
const drawn = new WeakMap(); // what a figure shows, as it came

function showView() {
  const stage = byId("stage"), old = before.checked;
  const stale = view !== "wall" && (trial || state.views[view]?.stale);
  stage.classList.toggle("dim", Boolean(state.faults.length));
  stage.classList.toggle("old", Boolean(stale) && !state.faults.length);
  byId("smaller").hidden = byId("larger").hidden = view === "solid";
  byId("before-label").hidden = view === "solid" || Boolean(trial)
    || !picturesOf(view).some(one => older[one.name]);
  const changed = view === "wall" ? shownState().changed || "" : "";
  setText(byId("changed"), changed);
  byId("changed").title = changed;
  if (view === "solid") { showSolid(stage); return; }
  const shown = picturesOf(view).map(one => old && older[one.name] || one);
  const solid = document.getElementById("solid");
  if (solid) { solid.hidden = true; }
  if (!shown.length) {
    const none = state.views[view]?.stale === false;
    const says = none ? "This wall has none." : state.busy ? "This picture follows."
      : "There is no picture: see the checks.";
    patch(stage, [says], () => "waits", () => element("p", "", "waits"), setText);
    return;
  }
  /** @type {Picture[]} */
  const kept = solid ? [{ name: "solid", title: "" }] : [];
  // all drawings of a view at one scale
  const widest = Math.max(...shown.map(one => one.wide || 0));
  patch(stage, [...kept, ...shown], one => one.name, () => {
    const figure = element("figure");
    figure.append(element("span"), element("figcaption"));
    return figure;
  }, (figure, one) => {
    if (one.name === "solid") { return; }
    const mark = one.svg || one.png;
    if (drawn.get(figure) !== mark) {
      drawn.set(figure, mark);
      figure.children[0].replaceWith(pictured(one));
    }
    const [picture, words] = /** @type {HTMLElement[]} */ ([...figure.children]);
    const share = one.wide ? zoom * one.wide / widest : zoom;
    picture.style.width = share === 1 ? "" : share * 100 + "%";
    caption(words, one);
  });
}

/** Title and legend; the last legend stays until zones and screws are known.
 * @param {Element} place @param {Picture} one */
function caption(place, one) {
  if (!place.firstChild) { place.append(element("span"), element("ul", "", "legend")); }
  const [title, legend] = place.children;
  setText(title, one.title);
  if (!one.legend || !one.legend.length) { return; }
  patch(legend, one.legend, key => key.word, key => {
    const entry = element("li");
    if (key.svg) { entry.append(keyMark(key.svg)); }
    entry.append(key.word);
    return entry;
  });
}

/** @param {string} svg */
function keyMark(svg) {
  const mark = drawing(svg), box = mark.getAttribute("viewBox") ?? "";
  const [, , wide, high] = box.split(" ").map(Number);
  mark.setAttribute("width", String(wide * 4));
  mark.setAttribute("height", String(high * 4));
  mark.setAttribute("aria-hidden", "true");
  return mark;
}

let sceneKey = "";
/** @type {ReturnType<typeof view3d>} */
let viewer = null;

/** @param {HTMLElement} stage */
async function showSolid(stage) {
  const key = state.views.solid?.key;
  patch(stage, [0], () => "solid", () => {
    const made = element("figure", "", "viewer");
    made.id = "solid";
    return made;
  }, node => { node.hidden = false; });
  const place = byId("solid");
  if (!key) {
    if (!place.firstChild) { place.append(element("p", "This view follows.", "waits")); }
    return;
  }
  if (sceneKey === key) { return; }
  sceneKey = key;
  /** @type {Scene | null} */
  const scene = await (await fetch("/scene.json")).json();
  if (!scene) { sceneKey = ""; return; }
  scene.things.filter(thing => thing.file).forEach(thing => { // files are not served
    Object.assign(thing, { note: "File: " + thing.file, file: "" });
  });
  const fields = () => /** @type {HTMLElement[]} */ (
    [...place.querySelectorAll("canvas, input, select, button")]);
  const focused = fields().findIndex(one => one === document.activeElement), was = viewer?.how();
  viewer?.end();
  place.replaceChildren();
  viewer = view3d(place, scene, was);
  if (focused >= 0 && fields()[focused]) { fields()[focused].focus({ preventScroll: true }); }
}

function showTabs() {
  patch(byId("tabs"), NAMES, name => name, name => {
    const tab = element("button", VIEWS[name]);
    tab.type = "button";
    tab.id = "tab-" + name;
    tab.setAttribute("role", "tab");
    tab.setAttribute("aria-controls", "view");
    tab.addEventListener("click", () => choose(name));
    return tab;
  }, (tab, name) => {
    const chosen = name === view, its = state.views[name];
    tab.setAttribute("aria-selected", String(chosen));
    tab.tabIndex = chosen ? 0 : -1;
    const made = its && !its.stale && (its.changed || picturesOf(name).some(one => one.changed));
    const other = Boolean(name === "wall" ? state.changed : made);
    const changed = tab.classList.toggle("changed", other);
    tab.setAttribute("aria-label", VIEWS[name] + (changed ? ", changed" : ""));
    tab.classList.toggle("stale", name !== "wall" && (!its || its.stale));
  });
  byId("view").setAttribute("aria-labelledby", "tab-" + view);
}

/** @param {ViewName} name */
function choose(name) {
  view = name;
  history.replaceState(null, "", "#" + name);
  showTabs();
  showView();
}

byId("tabs").addEventListener("keydown", event => {
  const step = event.key === "ArrowLeft" ? -1 : event.key === "ArrowRight" ? 1 : 0;
  if (!step) { return; }
  choose(NAMES[(NAMES.indexOf(view) + step + NAMES.length) % NAMES.length]);
  byId("tab-" + view).focus();
  event.preventDefault();
});
byId("larger").addEventListener("click", () => { zoom = Math.min(6, zoom * 1.25); showView(); });
byId("smaller").addEventListener("click", () => { zoom = Math.max(1, zoom / 1.25); showView(); });
before.addEventListener("change", showView);

// What the pictures showed at the save before the one that is shown.
function remember() {
  const all = NAMES.flatMap(name => name === "wall" ? [] : picturesOf(name));
  const title = "The wall before the last save.";
  if (state.wall) { all.push({ name: "wall", title, svg: state.wall }); }
  if (state.save !== lastSave && !state.faults.length) {
    older = current;
    current = {};
    lastSave = state.save;
  }
  all.forEach(one => { current[one.name] = one; });
}
