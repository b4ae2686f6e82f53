"use strict";
/** How a view stands: angles in radians, `apart` from 0 to 1, kinds that are `off`, item `picked`.
 * @typedef {{
 *   turn: number, tilt: number, zoom: number, panX: number, panY: number, apart: number,
 *   lit: boolean, named: boolean, only: string, off: Record<string, boolean>, picked: number
 * }} Stand
 */

/** The wall in three dimensions. `scene` is what book/scene.py wrote; scene.d.ts says its shape.
 *
 * Wall frame: x right, y up, z towards the viewer. The eye turns about the wall's upright axis and
 * tilts about the screen's level one, so that the wall never rolls. Parallel projection.
 *
 * @param {HTMLElement} place an element to fill
 * @param {Scene} scene
 * @param {Stand | null} [was] how an older view stood, for one that takes its place
 * @returns {{ how: () => Stand, end: () => void } | null} null where the browser draws nothing
 */
function view3d(place, scene, was) {
  const START = { turn: 0.35, tilt: 0.2, zoom: 1, panX: 0, panY: 0 };
  const STEEPEST = 1.45;
  const ROOM_DARK = [0.075, 0.082, 0.098, 1];
  const ROOM_DAY = [1, 1, 1, 1];

  const stage = document.createElement("div");
  stage.className = "stage";
  const canvas = document.createElement("canvas");
  const context = canvas.getContext("webgl2", { antialias: true, preserveDrawingBuffer: true });
  if (!context) {
    place.textContent = "This browser draws nothing in 3D;" +
      " the pictures on this page show the same.";
    return null;
  }
  const gl = context;
  const names = document.createElement("div");
  names.className = "names";
  names.setAttribute("aria-hidden", "true");
  const bar = document.createElement("div");
  bar.className = "bar";
  const parts = document.createElement("fieldset");
  const said = document.createElement("p");
  said.className = "name";
  said.setAttribute("aria-live", "polite");
  stage.append(canvas, names);
  place.append(stage, bar, said, parts);
  canvas.tabIndex = 0;
  canvas.setAttribute("role", "application");
  canvas.setAttribute("aria-roledescription", "view in three dimensions");
  canvas.setAttribute("aria-label", scene.says + " Arrow keys turn and tilt, + and - zoom," +
    " 0 goes back to the start.");

  /** @type {Stand} */
  const state = { ...START, apart: 0, lit: true, named: true, only: "", off: {}, ...was,
    picked: -1 };
  if (!scene.panels.some(function (one) { return one.name === state.only; })) { state.only = ""; }

  /* ---- the graphics program: parts shaded from the eye and from above, or of one flat colour */
  const VERTEX = `#version 300 es
    in vec3 point; uniform mat4 project; uniform vec4 at; uniform vec3 shift; uniform float size;
    out vec3 where;
    void main() {
      vec3 p = point * size;
      p = vec3(p.x * at.z - p.y * at.w, p.x * at.w + p.y * at.z, p.z) + vec3(at.xy, 0.0) + shift;
      where = p;
      gl_Position = project * vec4(p, 1.0);
    }`;
  const FRAGMENT = `#version 300 es
    precision highp float;
    in vec3 where; uniform vec4 colour; uniform float plain; uniform vec3 eye; out vec4 seen;
    void main() {
      vec3 face = normalize(cross(dFdx(where), dFdy(where)));
      float light = abs(dot(face, normalize(eye))) * 0.55
        + abs(dot(face, normalize(vec3(0.3, 0.7, 0.6)))) * 0.3 + 0.25;
      vec3 shaded = plain > 0.5 ? colour.rgb : colour.rgb * min(light, 1.1);
      seen = vec4(shaded * colour.a, colour.a);
    }`;
  /** @param {number} kind @param {string} text */
  function shader(kind, text) {
    const made = gl.createShader(kind);
    if (!made) { throw new Error("The browser took the graphics card away."); }
    gl.shaderSource(made, text);
    gl.compileShader(made);
    return made;
  }
  const program = gl.createProgram();
  gl.attachShader(program, shader(gl.VERTEX_SHADER, VERTEX));
  gl.attachShader(program, shader(gl.FRAGMENT_SHADER, FRAGMENT));
  gl.linkProgram(program);
  gl.useProgram(program);
  /** @param {string} name */
  function input(name) { return gl.getUniformLocation(program, name); }
  const uniform = { project: input("project"), at: input("at"), shift: input("shift"),
    size: input("size"), colour: input("colour"), plain: input("plain"), eye: input("eye") };

  /** @param {string} text in base64 */
  function bytes(text) {
    return Uint8Array.from(atob(text), function (letter) { return letter.charCodeAt(0); }).buffer;
  }
  const meshes = scene.meshes.map(function (mesh) {
    const vertices = gl.createVertexArray();
    gl.bindVertexArray(vertices);
    gl.bindBuffer(gl.ARRAY_BUFFER, gl.createBuffer());
    gl.bufferData(gl.ARRAY_BUFFER, new Int16Array(bytes(mesh.points)), gl.STATIC_DRAW);
    const point = gl.getAttribLocation(program, "point");
    gl.enableVertexAttribArray(point);
    gl.vertexAttribPointer(point, 3, gl.SHORT, false, 0, 0);
    const faces = new Uint16Array(bytes(mesh.faces));
    gl.bindBuffer(gl.ELEMENT_ARRAY_BUFFER, gl.createBuffer());
    gl.bufferData(gl.ELEMENT_ARRAY_BUFFER, faces, gl.STATIC_DRAW);
    return { vertices: vertices, count: faces.length, step: mesh.step };
  });

  /* ---- where things are and what is shown of them */
  /** @param {number} x @param {number} y */
  function spread(x, y) { // panels move apart as well, but one that is shown alone stays
    const more = state.only ? 0 : state.apart * scene.spread;
    return [x + (x - scene.whole.x) * more, y + (y - scene.whole.y) * more];
  }
  /** @param {Item} item */
  function shown(item) {
    if (state.off[item.kind]) { return false; }
    return !state.only || item.panels.includes(state.only);
  }
  function box() {
    const panel = scene.panels.find(function (one) { return one.name === state.only; });
    if (!panel) { return scene.whole; }
    return { x: panel.x, y: panel.y, z: scene.whole.z, wide: panel.r, high: panel.r };
  }
  function axes() {
    const ct = Math.cos(state.turn), st = Math.sin(state.turn);
    const cp = Math.cos(state.tilt), sp = Math.sin(state.tilt);
    return { right: [ct, 0, -st], up: [-st * sp, cp, -ct * sp], eye: [st * cp, sp, ct * cp] };
  }
  function projection() {
    const around = box(), to = axes();
    const aspect = canvas.width / canvas.height;
    const deep = state.apart * scene.lift; // pulled apart, parts stand before and behind the wall
    const high = (Math.max(around.high, around.wide / aspect) *
      (1 + (state.only ? 0 : state.apart * scene.spread)) + deep * 0.7) / state.zoom;
    const wide = high * aspect;
    const middle = [around.x, around.y, around.z + state.apart * scene.lift * 0.35];
    /** @param {number[]} axis @param {number} scale @param {number} pan */
    function row(axis, scale, pan) {
      const back = axis[0] * middle[0] + axis[1] * middle[1] + axis[2] * middle[2];
      return [axis[0] * scale, axis[1] * scale, axis[2] * scale, -back * scale + pan];
    }
    return [row(to.right, 1 / wide, state.panX), row(to.up, 1 / high, state.panY),
      row(to.eye, -1 / ((scene.whole.wide + scene.whole.high) * 5 + scene.lift * 5), 0)];
  }
  /** @param {number[][]} rows */
  function columns(rows) {
    const [a, b, c] = rows;
    return new Float32Array([a[0], b[0], c[0], 0, a[1], b[1], c[1], 0, a[2], b[2], c[2], 0,
      a[3], b[3], c[3], 1]);
  }

  /** @param {boolean} picking numbers of items as colours, instead of the picture */
  function paint(picking) {
    const ratio = window.devicePixelRatio || 1;
    const wide = canvas.clientWidth * ratio | 0, high = canvas.clientHeight * ratio | 0;
    if (canvas.width !== wide || canvas.height !== high) {
      canvas.width = wide;
      canvas.height = high;
    }
    const [r, g, b, a] = picking ? [0, 0, 0, 0] : state.lit ? ROOM_DARK : ROOM_DAY;
    gl.viewport(0, 0, wide, high);
    gl.clearColor(r, g, b, a);
    gl.depthMask(true);
    gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT);
    gl.enable(gl.DEPTH_TEST);
    const rows = projection();
    gl.uniformMatrix4fv(uniform.project, false, columns(rows));
    gl.uniform3fv(uniform.eye, axes().eye);
    [true, false].forEach(function (solid) { // what is seen through comes last
      if (picking && !solid) { return; }
      if (solid) { gl.disable(gl.BLEND); } else { gl.enable(gl.BLEND); }
      gl.blendFunc(gl.ONE, gl.ONE_MINUS_SRC_ALPHA);
      gl.depthMask(solid);
      scene.items.forEach(function (item, number) {
        const kind = scene.kinds[item.kind];
        const alpha = kind.a + (1 - kind.a) * Math.max(0, 1 - 4 * state.apart);
        if (!shown(item) || (!picking && (alpha < 1) === solid)) { return; }
        const mesh = meshes[item.mesh];
        const [x, y] = spread(item.x, item.y);
        const out = kind.out * state.apart * scene.lift;
        const cos = Math.cos(item.a), sin = Math.sin(item.a);
        gl.uniform4f(uniform.at, x, y, cos, sin);
        gl.uniform3f(uniform.shift, out * cos, out * sin,
          item.z + state.apart * scene.lift * kind.lift);
        gl.uniform1f(uniform.size, mesh.step);
        const glows = state.lit && item.lit ? kind.glows : undefined;
        gl.uniform1f(uniform.plain, picking || glows ? 1 : 0);
        if (picking) {
          const id = number + 1;
          gl.uniform4f(uniform.colour, (id & 255) / 255, (id >> 8 & 255) / 255, 0, 1);
        } else {
          const dim = glows || number === state.picked ? 1 : state.lit ? 0.5 : 1;
          const tint = number === state.picked ? [0.95, 0.55, 0.1] : glows || kind.c;
          gl.uniform4f(uniform.colour, tint[0] * dim, tint[1] * dim, tint[2] * dim, alpha);
        }
        gl.bindVertexArray(mesh.vertices);
        gl.drawElements(gl.TRIANGLES, mesh.count, gl.UNSIGNED_SHORT, 0);
      });
    });
    gl.depthMask(true);
    if (!picking) { letter(rows); }
  }

  const labels = scene.panels.map(function (panel) {
    const label = document.createElement("span");
    label.textContent = panel.name;
    names.append(label);
    return label;
  });
  /** @param {number[][]} rows of the projection */
  function letter(rows) {
    scene.panels.forEach(function (panel, k) {
      const [x, y] = spread(panel.x, panel.y);
      const point = [x, y, panel.z + state.apart * scene.lift * scene.front, 1];
      const [right, up] = rows.slice(0, 2).map(function (row) {
        return row.reduce(function (sum, value, place) { return sum + value * point[place]; }, 0);
      });
      labels[k].hidden = !state.named || (state.only !== "" && state.only !== panel.name);
      labels[k].style.left = (right + 1) * 50 + "%";
      labels[k].style.top = (1 - up) * 50 + "%";
    });
    const { turn, tilt, zoom, apart } = state;
    Object.entries({ turn, tilt, zoom, apart }).forEach(function ([key, value]) {
      canvas.dataset[key] = value.toFixed(3);
    });
  }
  let waiting = false;
  function draw() {
    if (waiting) { return; }
    waiting = true;
    requestAnimationFrame(function () { waiting = false; paint(false); });
  }

  /* ---- controls */
  /** @param {HTMLElement} parent @param {string} text @param {"range" | "checkbox"} kind
   * @param {Record<string, number | boolean>} values
   * @param {(made: HTMLInputElement) => void} act */
  function control(parent, text, kind, values, act) {
    const label = document.createElement("label"), made = document.createElement("input");
    Object.assign(made, { type: kind }, values);
    made.addEventListener("input", function () { act(made); draw(); });
    label.append(...(kind === "range" ? [text, made] : [made, text]));
    parent.append(label);
    return made;
  }
  const slider = control(bar, "Pull apart", "range", { min: 0, max: 100, value: state.apart * 100 },
    function (made) { state.apart = Number(made.value) / 100; });
  const light = control(bar, "Lit, in a dark room", "checkbox", { checked: state.lit },
    function (made) { state.lit = made.checked; });
  const lettered = control(bar, "Names", "checkbox", { checked: state.named },
    function (made) { state.named = made.checked; });
  const which = document.createElement("select");
  which.append(new Option("The whole wall", ""));
  scene.panels.forEach(function (panel) {
    which.append(new Option("Panel " + panel.name, panel.name));
  });
  which.value = state.only;
  which.addEventListener("change", function () { state.only = which.value; home(); });
  const chosen = document.createElement("label");
  chosen.append("Show", which);
  if (scene.panels.length > 1) { bar.append(chosen); }
  const legend = document.createElement("legend");
  legend.textContent = "Parts shown";
  parts.append(legend);
  Object.entries(scene.kinds).forEach(function ([key, kind]) {
    control(parts, kind.name, "checkbox", { checked: !state.off[key] },
      function (made) { state.off[key] = !made.checked; });
  });
  /** @param {string} text @param {() => void} act */
  function button(text, act) {
    const made = document.createElement("button");
    made.type = "button";
    made.textContent = text;
    made.addEventListener("click", act);
    bar.append(made);
  }
  function home() { Object.assign(state, START); draw(); }
  /** @param {number} turn @param {number} tilt */
  function look(turn, tilt) { Object.assign(state, START, { turn: turn, tilt: tilt }); draw(); }
  button("Front", function () { look(0, 0); });
  button("Back", function () { look(Math.PI, 0); });
  button("Reset", function () {
    Object.assign(state, { apart: 0, lit: true, named: true, only: "", off: {}, picked: -1 });
    slider.value = "0";
    light.checked = lettered.checked = true;
    which.value = "";
    parts.querySelectorAll("input").forEach(function (one) { one.checked = true; });
    said.textContent = "";
    home();
  });

  /* ---- hands: drag turns and tilts, two fingers zoom and move, a click names */
  /** @param {number} dx @param {number} dy */
  function turnBy(dx, dy) {
    state.turn -= dx;
    state.tilt = Math.max(-STEEPEST, Math.min(STEEPEST, state.tilt + dy));
    draw();
  }
  /** @param {number} factor */
  function zoomBy(factor) {
    state.zoom = Math.max(0.4, Math.min(12, state.zoom * factor));
    draw();
  }
  /** @param {number} dx @param {number} dy in pixels */
  function panBy(dx, dy) {
    state.panX += 2 * dx / canvas.clientWidth;
    state.panY -= 2 * dy / canvas.clientHeight;
    draw();
  }
  /** @param {number} x @param {number} y in pixels of the window */
  function pick(x, y) {
    const frame = canvas.getBoundingClientRect(), pixel = new Uint8Array(4);
    const scale = canvas.width / frame.width;
    paint(true);
    gl.readPixels((x - frame.left) * scale | 0, canvas.height - 1 - ((y - frame.top) * scale | 0),
      1, 1, gl.RGBA, gl.UNSIGNED_BYTE, pixel);
    state.picked = pixel[3] === 255 ? pixel[0] + pixel[1] * 256 - 1 : -1;
    paint(false);
    tell(scene.items[state.picked]);
  }
  /** @param {Item | undefined} item */
  function tell(item) {
    said.textContent = "";
    if (!item) { return; }
    const thing = scene.things[item.thing];
    const where = item.panels.length > 1 ? "joint " + item.panels.join("-")
      : "panel " + item.panels[0];
    said.append(thing.name + ", " + where + ". In the wall: " + thing.count + ". ");
    if (thing.file) {
      const link = document.createElement("a");
      link.href = "../" + thing.file;
      link.textContent = thing.file;
      said.append("File: ", link);
    } else if (thing.note) {
      said.append(thing.note);
    }
  }
  /** @type {Map<number, number[]>} */
  const held = new Map(); // where each finger is
  let travelled = 0, apart = 0;
  canvas.addEventListener("pointerdown", function (event) {
    if (!held.size) { travelled = 0; }
    held.set(event.pointerId, [event.clientX, event.clientY]);
    apart = 0;
    canvas.setPointerCapture(event.pointerId);
  });
  canvas.addEventListener("pointermove", function (event) {
    const before = held.get(event.pointerId);
    if (!before) { return; }
    const dx = event.clientX - before[0], dy = event.clientY - before[1];
    travelled += Math.hypot(dx, dy);
    held.set(event.pointerId, [event.clientX, event.clientY]);
    if (held.size === 1) {
      if (event.shiftKey || event.buttons === 4) { panBy(dx, dy); }
      else { turnBy(dx * 0.008, dy * 0.008); }
    } else if (held.size === 2) {
      const [a, b] = [...held.values()];
      const now = Math.hypot(a[0] - b[0], a[1] - b[1]);
      if (apart) { zoomBy(now / apart); }
      apart = now;
      panBy(dx / 2, dy / 2);
    }
  });
  /** @param {PointerEvent} event */
  function release(event) {
    held.delete(event.pointerId);
    apart = 0;
  }
  canvas.addEventListener("pointerup", function (event) {
    const alone = held.size === 1;
    release(event);
    if (alone && travelled < 5 && event.button === 0) { pick(event.clientX, event.clientY); }
  });
  canvas.addEventListener("pointercancel", release);
  canvas.addEventListener("wheel", function (event) { // the page scrolls until the view is chosen
    if (!event.ctrlKey && document.activeElement !== canvas) { return; }
    event.preventDefault();
    zoomBy(Math.exp(-event.deltaY * 0.001));
  }, { passive: false });
  canvas.addEventListener("keydown", function (event) {
    /** @type {Record<string, (() => void) | undefined>} */
    const acts = {
      ArrowLeft: function () { turnBy(0.12, 0); },
      ArrowRight: function () { turnBy(-0.12, 0); },
      ArrowUp: function () { turnBy(0, 0.12); },
      ArrowDown: function () { turnBy(0, -0.12); },
      "+": function () { zoomBy(1.15); },
      "=": function () { zoomBy(1.15); },
      "-": function () { zoomBy(1 / 1.15); },
      "0": home,
      Home: home,
    };
    const act = acts[event.key];
    if (!act || event.ctrlKey || event.metaKey || event.altKey) { return; }
    event.preventDefault();
    act();
  });
  window.addEventListener("resize", draw);
  place.classList.add("live");
  paint(false);
  return {
    how: function () { return { ...state }; },
    end: function () { // a browser holds few of these at one time
      window.removeEventListener("resize", draw);
      gl.getExtension("WEBGL_lose_context")?.loseContext();
    },
  };
}
