"use strict";
/* What was ticked off is kept in the browser, under the hash of the build's inputs. */
(function () {
  const key = "ticks:" + document.documentElement.dataset.key;
  let kept = {};
  try { kept = JSON.parse(localStorage.getItem(key) || "{}"); } catch (error) { kept = {}; }
  document.querySelectorAll("input[data-tick]").forEach(function (box) {
    const row = box.closest("tr");
    function show() { row.classList.toggle("ticked", box.checked); }
    box.checked = kept[box.dataset.tick] === true;
    show();
    box.addEventListener("change", function () {
      if (box.checked) { kept[box.dataset.tick] = true; } else { delete kept[box.dataset.tick]; }
      show();
      try { localStorage.setItem(key, JSON.stringify(kept)); }
      catch (error) { /* private mode: ticks last as long as the page */ }
    });
  });
  /* A link into a folded part opens it. */
  function unfold() {
    const target = location.hash.length > 1 && document.getElementById(location.hash.slice(1));
    const folded = target && (target.closest("details") || target.querySelector("details"));
    if (folded && !folded.open) { folded.open = true; target.scrollIntoView(); }
  }
  window.addEventListener("hashchange", unfold);
  unfold();
})();
