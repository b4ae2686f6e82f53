"use strict";
function view3d(place, scene) {
  var canvas = document.createElement("canvas"), gl = canvas.getContext("webgl2", { antialias: true, preserveDrawingBuffer: true });
  if (!gl) { place.textContent = "This browser draws no 3D; the pictures on this page show the same."; return; }
  canvas.tabIndex = 0;
  canvas.setAttribute("role", "img");
  canvas.setAttribute("aria-label", scene.says + " Drag or use the arrow keys to turn, + and - to zoom.");
  var bar = document.createElement("div"), name = document.createElement("div");
  bar.className = "bar"; name.className = "name"; name.setAttribute("aria-live", "polite");
  place.append(canvas, bar, name);
  function shader(kind, text) { var s = gl.createShader(kind); gl.shaderSource(s, text); gl.compileShader(s); return s; }
  var program = gl.createProgram();
  gl.attachShader(program, shader(gl.VERTEX_SHADER, "#version 300 es\nin vec3 p;uniform mat4 m;uniform vec4 at;uniform vec3 lift;uniform float size;out vec3 w;" +
    "void main(){vec3 q=p*size;q=vec3(q.x*at.z-q.y*at.w,q.x*at.w+q.y*at.z,q.z)+vec3(at.xy,0)+lift;w=q;gl_Position=m*vec4(q,1);}"));
  gl.attachShader(program, shader(gl.FRAGMENT_SHADER, "#version 300 es\nprecision highp float;in vec3 w;uniform vec4 c;uniform float flat_;uniform vec3 eye;out vec4 o;" +
    "void main(){vec3 n=normalize(cross(dFdx(w),dFdy(w)));float d=abs(dot(n,normalize(eye)))*.55+abs(dot(n,normalize(vec3(.3,.7,.6))))*.3+.25;" +
    "o=flat_>.5?c:vec4(c.rgb*d*c.a,c.a);}"));
  gl.linkProgram(program); gl.useProgram(program);
  var u = {}; ["m", "at", "lift", "size", "c", "flat_", "eye"].forEach(function (k) { u[k] = gl.getUniformLocation(program, k); });
  function bytes(text) { var s = atob(text), a = new Uint8Array(s.length); for (var i = 0; i < s.length; i++) { a[i] = s.charCodeAt(i); } return a.buffer; }
  var meshes = scene.meshes.map(function (mesh) {
    var vao = gl.createVertexArray(); gl.bindVertexArray(vao);
    gl.bindBuffer(gl.ARRAY_BUFFER, gl.createBuffer()); gl.bufferData(gl.ARRAY_BUFFER, new Int16Array(bytes(mesh.points)), gl.STATIC_DRAW);
    var p = gl.getAttribLocation(program, "p"); gl.enableVertexAttribArray(p); gl.vertexAttribPointer(p, 3, gl.SHORT, false, 0, 0);
    gl.bindBuffer(gl.ELEMENT_ARRAY_BUFFER, gl.createBuffer()); var faces = new Uint16Array(bytes(mesh.faces)); gl.bufferData(gl.ELEMENT_ARRAY_BUFFER, faces, gl.STATIC_DRAW);
    return { vao: vao, count: faces.length, step: mesh.step };
  });
  var turn = scene.turn, tilt = scene.tilt, zoom = 1, apart = 0, one = scene.one, off = {}, reach = 1, shown = false;
  function part(item) { return !off[item.part] && (!one || item.panel === scene.first); }
  function matrix() {
    var box = one ? scene.small : scene.whole, a = canvas.width / canvas.height, r = box.r / zoom * (1 + apart * (one ? .6 : .15));
    var ct = Math.cos(turn), st = Math.sin(turn), cf = Math.cos(tilt), sf = Math.sin(tilt);
    var X = [ct, st, 0], F = [st * cf, -ct * cf, sf], U = [-st * sf, ct * sf, cf], c = [box.x, box.y, box.z + apart * (one ? scene.lift * .5 : scene.lift * .3)];
    var sx = 1 / (r * Math.max(a, 1)), sy = 1 / (r * Math.max(1 / a, 1)), sz = -1 / (box.r * 8);
    if (a >= 1) { sy = 1 / r; sx = sy / a; } else { sx = 1 / r; sy = sx * a; }
    function row(v, s) { return [v[0] * s, v[1] * s, v[2] * s, -(v[0] * c[0] + v[1] * c[1] + v[2] * c[2]) * s]; }
    var A = row(X, sx), B = row(U, sy), C = row(F, sz); reach = F;
    return [A[0], B[0], C[0], 0, A[1], B[1], C[1], 0, A[2], B[2], C[2], 0, A[3], B[3], C[3], 1];
  }
  function paint(pick) {
    var w = canvas.clientWidth * (window.devicePixelRatio || 1) | 0, h = canvas.clientHeight * (window.devicePixelRatio || 1) | 0;
    if (canvas.width !== w || canvas.height !== h) { canvas.width = w; canvas.height = h; }
    gl.viewport(0, 0, w, h); gl.clearColor(1, 1, 1, pick ? 0 : 1); gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT);
    gl.enable(gl.DEPTH_TEST); gl.uniformMatrix4fv(u.m, false, new Float32Array(matrix())); gl.uniform3fv(u.eye, reach); gl.uniform1f(u.flat_, pick ? 1 : 0);
    [1, 0].forEach(function (solid) {
      if (pick && !solid) { return; }
      if (solid) { gl.disable(gl.BLEND); gl.depthMask(true); } else { gl.enable(gl.BLEND); gl.blendFunc(gl.ONE, gl.ONE_MINUS_SRC_ALPHA); gl.depthMask(false); }
      scene.items.forEach(function (item, k) {
        if (!part(item) || (!pick && (scene.parts[item.part].a < 1) === !!solid)) { return; }
        var look = scene.parts[item.part], mesh = meshes[item.mesh];
        gl.uniform4f(u.at, item.x, item.y, Math.cos(item.a), Math.sin(item.a)); gl.uniform3f(u.lift, 0, 0, item.z + apart * scene.lift * look.lift);
        gl.uniform1f(u.size, mesh.step);
        if (pick) { gl.uniform4f(u.c, ((k + 1) & 255) / 255, ((k + 1) >> 8 & 255) / 255, 0, 1); } else { gl.uniform4f(u.c, look.c[0], look.c[1], look.c[2], look.a); }
        gl.bindVertexArray(mesh.vao); gl.drawElements(gl.TRIANGLES, mesh.count, gl.UNSIGNED_SHORT, 0);
      });
    });
    gl.depthMask(true);
  }
  function draw() { if (!shown) { shown = true; requestAnimationFrame(function () { shown = false; paint(false); }); } }
  function add(text, node) { var l = document.createElement("label"); l.append(text, node); bar.append(l); return node; }
  var slide = document.createElement("input"); slide.type = "range"; slide.min = 0; slide.max = 100; slide.value = 0; add("Pull apart ", slide);
  slide.addEventListener("input", function () { apart = slide.value / 100; draw(); });
  if (scene.items.some(function (item) { return item.panel !== scene.first; })) {
    var single = document.createElement("input"); single.type = "checkbox"; single.checked = one; add("one panel only ", single);
    single.addEventListener("change", function () { one = single.checked; draw(); });
  }
  Object.keys(scene.parts).forEach(function (k) {
    var box = document.createElement("input"); box.type = "checkbox"; box.checked = true; add(k + " ", box);
    box.addEventListener("change", function () { off[k] = !box.checked; draw(); });
  });
  var home = document.createElement("button"); home.type = "button"; home.textContent = "Front view"; bar.append(home);
  home.addEventListener("click", function () { turn = 0; tilt = Math.PI / 2; zoom = 1; draw(); });
  var held = {}, last = 0;
  canvas.addEventListener("pointerdown", function (e) { held[e.pointerId] = [e.clientX, e.clientY]; canvas.setPointerCapture(e.pointerId); });
  function lift(e) { delete held[e.pointerId]; last = 0; }
  canvas.addEventListener("pointerup", lift); canvas.addEventListener("pointercancel", lift);
  canvas.addEventListener("pointermove", function (e) {
    var ids = Object.keys(held);
    if (!held[e.pointerId]) { hover(e); return; }
    if (ids.length === 1) { turn -= (e.clientX - held[e.pointerId][0]) * .008; tilt = Math.max(-1.57, Math.min(1.5708, tilt + (e.clientY - held[e.pointerId][1]) * .008)); }
    held[e.pointerId] = [e.clientX, e.clientY];
    if (ids.length === 2) { var a = held[ids[0]], b = held[ids[1]], d = Math.hypot(a[0] - b[0], a[1] - b[1]); if (last) { zoom = Math.max(.4, Math.min(12, zoom * d / last)); } last = d; }
    draw();
  });
  function hover(e) {
    var box = canvas.getBoundingClientRect(), s = canvas.width / box.width, px = new Uint8Array(4);
    paint(true); gl.readPixels((e.clientX - box.left) * s | 0, canvas.height - 1 - ((e.clientY - box.top) * s | 0), 1, 1, gl.RGBA, gl.UNSIGNED_BYTE, px); paint(false);
    var k = px[0] + px[1] * 256 - 1, item = px[3] === 255 && k >= 0 ? scene.items[k] : null;
    name.textContent = item ? item.part + (item.panel ? " of panel " + item.panel : "") : "";
  }
  canvas.addEventListener("wheel", function (e) { if (e.ctrlKey || document.activeElement === canvas) { e.preventDefault(); zoom = Math.max(.4, Math.min(12, zoom * Math.exp(-e.deltaY * .001))); draw(); } }, { passive: false });
  canvas.addEventListener("keydown", function (e) {
    var step = { ArrowLeft: [-.12, 0], ArrowRight: [.12, 0], ArrowUp: [0, .12], ArrowDown: [0, -.12] }[e.key];
    if (step) { turn += step[0]; tilt = Math.max(-1.57, Math.min(1.5708, tilt + step[1])); } else if (e.key === "+" || e.key === "=") { zoom = Math.min(12, zoom * 1.15); } else if (e.key === "-") { zoom = Math.max(.4, zoom / 1.15); } else { return; }
    e.preventDefault(); draw();
  });
  window.addEventListener("resize", draw);
  place.classList.add("live");
  paint(false);
}
