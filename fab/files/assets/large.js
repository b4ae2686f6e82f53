"use strict";
/* Pictures open large: a button and a click on each, in a window that zooms and pans by fingers,
   mouse and keys. In the text, letters that would be too small to read widen their picture, which
   then scrolls sideways; where that is not enough they are left out until it is opened. */
(function () {
  const LEAST = 9; // pixels of the smallest letter that is shown
  const WIDEST = 2.2; // how many times its frame a picture may be wide
  const FEW = 0.4; // share of letters that may be left out for the picture to stay whole
  const MOST = 16; // zoom
  const dialog = document.createElement("dialog");
  dialog.className = "large";
  const room = document.createElement("div");
  room.className = "room";
  room.tabIndex = 0;
  room.setAttribute("role", "group");
  const bar = document.createElement("div");
  bar.className = "bar";
  dialog.append(bar, room);
  document.body.append(dialog);

  /** The picture that is shown, and where it came from.
   * @typedef {{
   *   picture: HTMLElement | SVGElement, figure: Element, parent: HTMLElement, next: Node | null,
   *   style: string, shape: { width: number, height: number }
   * }} Opened
   */
  /** @type {Opened | null} */
  let opened = null;
  let base = { width: 1, height: 1 };
  let view = { zoom: 1, x: 0, y: 0 };

  function place() {
    if (!opened) { return; }
    const box = room.getBoundingClientRect();
    const wide = base.width * view.zoom;
    const high = base.height * view.zoom;
    const slackX = box.width - wide;
    const slackY = box.height - high;
    view.x = slackX > 0 ? slackX / 2 : Math.min(0, Math.max(slackX, view.x));
    view.y = slackY > 0 ? slackY / 2 : Math.min(0, Math.max(slackY, view.y));
    opened.picture.style.width = wide + "px";
    opened.picture.style.height = high + "px";
    opened.picture.style.transform = "translate(" + view.x + "px," + view.y + "px)";
  }

  /** @param {number} zoom
   * @param {number} [clientX] @param {number} [clientY] what stays; default: the middle */
  function zoomTo(zoom, clientX, clientY) {
    const box = room.getBoundingClientRect();
    const x = clientX === undefined ? box.width / 2 : clientX - box.left;
    const y = clientY === undefined ? box.height / 2 : clientY - box.top;
    const next = Math.min(MOST, Math.max(1, zoom));
    const factor = next / view.zoom;
    view.x = x - (x - view.x) * factor;
    view.y = y - (y - view.y) * factor;
    view.zoom = next;
    place();
  }

  /** @param {number} dx @param {number} dy in pixels */
  function pan(dx, dy) {
    view.x += dx;
    view.y += dy;
    place();
  }

  function whole() {
    if (!opened) { return; }
    view = { zoom: 1, x: 0, y: 0 };
    const box = room.getBoundingClientRect();
    const shape = opened.shape;
    const fit = Math.min(box.width / shape.width, box.height / shape.height);
    base = { width: shape.width * fit, height: shape.height * fit };
    place();
  }

  /** @param {Element} figure */
  function open(figure) {
    /** @type {HTMLElement | SVGElement | null} */
    const picture = figure.querySelector("svg, img");
    const parent = picture && picture.parentElement;
    if (!picture || !parent) { return; }
    const { width, height } = picture.getBoundingClientRect();
    opened = { picture: picture, figure: figure, parent: parent, next: picture.nextSibling,
      style: picture.getAttribute("style") || "", shape: { width: width, height: height } };
    const words = figure.querySelector("figcaption");
    dialog.setAttribute("aria-label", words ? words.textContent : "Picture");
    room.setAttribute("aria-label", "Drag to move, pinch or use the wheel, + and - to zoom.");
    parent.style.minHeight = height + "px";
    picture.style.minWidth = "0"; // in the text its letters may have widened it
    room.append(picture);
    dialog.showModal();
    whole();
    room.focus();
  }

  dialog.addEventListener("close", function () {
    if (!opened) { return; }
    const { picture, figure, parent, next, style } = opened;
    parent.style.minHeight = "";
    parent.insertBefore(picture, next);
    picture.setAttribute("style", style);
    opened = null;
    /** @type {HTMLElement | null} */
    (figure.querySelector("button.enlarge"))?.focus();
  });

  /** @param {string} text @param {() => void} act */
  function button(text, act) {
    const made = document.createElement("button");
    made.type = "button";
    made.textContent = text;
    made.addEventListener("click", act);
    bar.append(made);
  }
  button("Zoom in", function () { zoomTo(view.zoom * 1.6); });
  button("Zoom out", function () { zoomTo(view.zoom / 1.6); });
  button("Whole picture", whole);
  button("Close", function () { dialog.close(); });

  /** @type {Map<number, { x: number, y: number }>} */
  const held = new Map(); // where each finger is
  let apart = 0;
  let moved = false;
  function distance() {
    const [a, b] = [...held.values()];
    return Math.hypot(a.x - b.x, a.y - b.y);
  }
  room.addEventListener("pointerdown", function (event) {
    held.set(event.pointerId, { x: event.clientX, y: event.clientY });
    moved = false;
    if (held.size === 2) { apart = distance(); }
  });
  room.addEventListener("pointermove", function (event) {
    const before = held.get(event.pointerId);
    if (!before) { return; }
    const dx = event.clientX - before.x;
    const dy = event.clientY - before.y;
    moved = moved || Math.hypot(dx, dy) > 3;
    held.set(event.pointerId, { x: event.clientX, y: event.clientY });
    if (held.size === 1) { pan(dx, dy); }
    if (held.size === 2) {
      const [a, b] = [...held.values()];
      const now = distance();
      if (apart > 0) { zoomTo(view.zoom * now / apart, (a.x + b.x) / 2, (a.y + b.y) / 2); }
      apart = now;
    }
  });
  /** @param {PointerEvent} event */
  function release(event) { held.delete(event.pointerId); }
  room.addEventListener("pointerup", release);
  room.addEventListener("pointercancel", release);
  room.addEventListener("pointerleave", release);
  /** @param {Event} event */
  function onLink(event) { return event.target instanceof Element && event.target.closest("a"); }
  room.addEventListener("click", function (event) { // a link of the picture closes the window first
    if (moved) { event.preventDefault(); } else if (onLink(event)) { dialog.close(); }
  }, true);
  room.addEventListener("dblclick", function (event) {
    zoomTo(view.zoom > 1.1 ? 1 : 3, event.clientX, event.clientY);
  });
  room.addEventListener("wheel", function (event) {
    event.preventDefault();
    zoomTo(view.zoom * Math.exp(-event.deltaY * 0.0015), event.clientX, event.clientY);
  }, { passive: false });
  dialog.addEventListener("keydown", function (event) {
    /** @type {Record<string, [number, number] | undefined>} */
    const steps = {
      ArrowLeft: [60, 0], ArrowRight: [-60, 0], ArrowUp: [0, 60], ArrowDown: [0, -60],
    };
    const step = steps[event.key];
    if (step) { pan(...step); }
    else if (event.key === "+" || event.key === "=") { zoomTo(view.zoom * 1.25); }
    else if (event.key === "-") { zoomTo(view.zoom / 1.25); }
    else if (event.key === "0") { whole(); }
    else { return; }
    event.preventDefault();
  });

  /** Letters of a picture in the text.
   * @param {Element} sheet */
  function letters(sheet) {
    const svg = sheet.querySelector("svg");
    if (!svg) { return; }
    const texts = [...svg.querySelectorAll("text")];
    if (!texts.length) { return; }
    const wide = svg.viewBox.baseVal.width;
    const sizes = texts.map(function (text) {
      return parseFloat(text.getAttribute("font-size") || "");
    });
    const frame = sheet.clientWidth - 2 * parseFloat(getComputedStyle(sheet).paddingLeft);
    const need = LEAST * wide / Math.min(...sizes);
    const drawn = Math.min(frame, parseFloat(svg.getAttribute("width") || "") * 96 / 25.4);
    const few = sizes.filter(function (size) { return size * drawn / wide < LEAST; }).length;
    const widen = need <= WIDEST * frame && few > FEW * sizes.length;
    svg.style.minWidth = widen ? need + "px" : "";
    const scale = svg.getBoundingClientRect().width / wide;
    let hidden = false;
    texts.forEach(function (text, k) {
      const tiny = sizes[k] * scale < LEAST - 0.01;
      text.classList.toggle("tiny", tiny);
      hidden = hidden || tiny;
    });
    sheet.closest("figure")?.classList.toggle("more", hidden);
  }
  const sheets = [...document.querySelectorAll("figure > .sheet")];
  function all() { if (!opened) { sheets.forEach(letters); } }

  document.querySelectorAll("figure").forEach(function (figure) {
    const frame = figure.querySelector(".sheet, img");
    if (!frame || figure.querySelector(".pair")) { return; }
    const made = document.createElement("button");
    made.type = "button";
    made.className = "enlarge";
    made.textContent = "Open large";
    const words = figure.querySelector("figcaption");
    made.setAttribute("aria-label", "Open large: " + (words ? words.textContent : "picture"));
    made.addEventListener("click", function () { open(figure); });
    figure.append(made);
    frame.addEventListener("click", function (event) {
      if (!onLink(event)) { open(figure); }
    });
  });

  /* Frames that scroll sideways say so. */
  function hints() {
    /** @type {NodeListOf<HTMLElement>} */
    (document.querySelectorAll(".scroll, .sheet")).forEach(function (frame) {
      const beyond = frame.scrollWidth > frame.clientWidth + 2;
      frame.classList.toggle("beyond", beyond);
      if (frame.classList.contains("sheet")) {
        if (beyond) { frame.tabIndex = 0; } else { frame.removeAttribute("tabindex"); }
      }
      const before = frame.previousElementSibling;
      if (before && before.classList.contains("hint")) {
        before.toggleAttribute("hidden", !beyond);
      } else if (beyond) {
        const hint = document.createElement("p");
        hint.className = "hint";
        hint.setAttribute("aria-hidden", "true");
        hint.textContent = "\u2194 Scroll sideways";
        frame.before(hint);
      }
    });
  }
  function fit() { all(); hints(); }
  window.addEventListener("resize", function () { fit(); whole(); });
  document.querySelectorAll("details").forEach(function (one) {
    one.addEventListener("toggle", fit);
  });
  window.addEventListener("beforeprint", function () {
    document.querySelectorAll(".tiny").forEach(function (text) { text.classList.remove("tiny"); });
    /** @type {NodeListOf<SVGElement>} */
    (document.querySelectorAll(".sheet svg")).forEach(function (svg) { svg.style.minWidth = ""; });
  });
  window.addEventListener("afterprint", fit);
  fit();
})();
