"use strict";
(function () {
  var key = "ticks:" + document.documentElement.dataset.key, kept = {};
  try { kept = JSON.parse(localStorage.getItem(key) || "{}"); } catch (error) { kept = {}; }
  document.querySelectorAll("input[data-tick]").forEach(function (box) {
    var row = box.closest("tr");
    function show() { row.classList.toggle("ticked", box.checked); }
    box.checked = kept[box.dataset.tick] === true;
    show();
    box.addEventListener("change", function () {
      if (box.checked) { kept[box.dataset.tick] = true; } else { delete kept[box.dataset.tick]; }
      show();
      try { localStorage.setItem(key, JSON.stringify(kept)); } catch (error) { /* private mode: ticks last as long as the page */ }
    });
  });
})();
