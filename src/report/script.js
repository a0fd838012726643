(function () {
  "use strict";
  document.querySelectorAll(".pane").forEach(function (pane) {
    var svg = pane.querySelector("svg.drawing");
    var whole = svg.getAttribute("viewBox").split(" ").map(Number);
    var box = whole.slice();
    var name = pane.getAttribute("aria-label");
    pane.setAttribute("aria-label", name + ": plus and minus zoom, arrows move, 0 shows all");
    function show() { svg.setAttribute("viewBox", box.join(" ")); }
    function move(dx, dy) {
      box[0] = Math.min(Math.max(box[0] + dx * box[2], whole[0]), whole[2] - box[2]);
      box[1] = Math.min(Math.max(box[1] + dy * box[3], whole[1]), whole[3] - box[3]);
      show();
    }
    function zoom(by, u, v) {
      var k = Math.min(Math.max(whole[2] / box[2] * by, 1), 16);
      var w = whole[2] / k, h = whole[3] / k;
      box = [box[0] + (box[2] - w) * u, box[1] + (box[3] - h) * v, w, h];
      move(0, 0);
    }
    function all() { box = whole.slice(); show(); }
    var acts = { "+": function () { zoom(1.5, .5, .5); }, "=": function () { zoom(1.5, .5, .5); }, "-": function () { zoom(1 / 1.5, .5, .5); }, "0": all };
    pane.addEventListener("keydown", function (e) {
      if (e.ctrlKey || e.metaKey || e.altKey) { return; }
      var act = acts[e.key];
      var zoomed = box[2] < whole[2];
      if (!act && zoomed) {
        var to = { ArrowLeft: [-.15, 0], ArrowRight: [.15, 0], ArrowUp: [0, -.15], ArrowDown: [0, .15] }[e.key];
        if (to) { act = function () { move(to[0], to[1]); }; }
      }
      if (act) { act(); e.preventDefault(); }
    });
    pane.addEventListener("wheel", function (e) {
      if (!e.ctrlKey) { return; }
      var r = svg.getBoundingClientRect();
      zoom(e.deltaY < 0 ? 1.25 : .8, (e.clientX - r.left) / r.width, (e.clientY - r.top) / r.height);
      e.preventDefault();
    }, { passive: false });
    var held = null;
    svg.addEventListener("pointerdown", function (e) {
      if (box[2] < whole[2] && e.pointerType === "mouse") { held = [e.clientX, e.clientY]; svg.setPointerCapture(e.pointerId); }
    });
    svg.addEventListener("pointermove", function (e) {
      if (!held) { return; }
      var r = svg.getBoundingClientRect();
      move((held[0] - e.clientX) / r.width, (held[1] - e.clientY) / r.height);
      held = [e.clientX, e.clientY];
    });
    svg.addEventListener("pointerup", function () { held = null; });
    svg.addEventListener("pointercancel", function () { held = null; });
    var tools = document.createElement("div");
    tools.className = "tools";
    [["+", "Larger", acts["+"]], ["\u2212", "Smaller", acts["-"]], ["All", "Show all", all]].forEach(function (t) {
      var b = document.createElement("button");
      b.type = "button";
      b.textContent = t[0];
      b.setAttribute("aria-label", t[1] + ", " + name);
      b.addEventListener("click", t[2]);
      tools.appendChild(b);
    });
    pane.insertBefore(tools, svg);
  });
  window.addEventListener("beforeprint", function () {
    document.querySelectorAll(".pane").forEach(function (p) { p.dispatchEvent(new KeyboardEvent("keydown", { key: "0" })); });
  });
  var finder = document.getElementById("finder");
  if (finder) {
    var items = Array.prototype.map.call(document.querySelectorAll(".contents li"), function (li) {
      return [li, li.textContent.toLowerCase()];
    });
    finder.hidden = false;
    finder.querySelector("input").addEventListener("input", function (e) {
      var wanted = e.target.value.trim().toLowerCase(), shown = 0;
      items.forEach(function (item) {
        var hit = item[1].indexOf(wanted) >= 0;
        item[0].hidden = !hit;
        shown += hit ? 1 : 0;
      });
      finder.querySelector("[role=status]").textContent = wanted ? shown + " of " + items.length + " pages" : "";
    });
  }
})();
