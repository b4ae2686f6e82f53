"use strict";
/* What was ticked off is kept in the browser, under the hash of the build's inputs. */
(function () {
  const key = "ticks:" + document.documentElement.dataset.key;
  /** @returns {Record<string, boolean>} true for what is ticked off */
  function read() {
    try { return JSON.parse(localStorage.getItem(key) || "{}") || {}; } catch { return {}; }
  }
  const kept = read();
  /** @param {HTMLInputElement} box */
  function follow(box) {
    const row = box.closest("tr"), tick = box.dataset.tick || "";
    function show() { row?.classList.toggle("ticked", box.checked); }
    box.checked = kept[tick] === true;
    show();
    box.addEventListener("change", function () {
      if (box.checked) { kept[tick] = true; } else { delete kept[tick]; }
      show();
      try { localStorage.setItem(key, JSON.stringify(kept)); }
      catch { /* private mode: ticks last as long as the page */ }
    });
  }
  /** @type {NodeListOf<HTMLInputElement>} */
  (document.querySelectorAll("input[data-tick]")).forEach(follow);
  /* A link into a folded part opens it. */
  function unfold() {
    const target = document.getElementById(location.hash.slice(1));
    const folded = target && (target.closest("details") || target.querySelector("details"));
    if (folded && !folded.open) { folded.open = true; target.scrollIntoView(); }
  }
  window.addEventListener("hashchange", unfold);
  unfold();
})();
