"use strict";
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
  const widest = Math.max(...shown.map(one => one.wide || 0)); // all drawings of a view at one scale
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
    const share = one.wide ? zoom * one.wide / widest : zoom;
    figure.firstChild.style.width = share === 1 ? "" : share * 100 + "%";
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
