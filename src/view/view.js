// The map: what the file holds in the window that is seen, drawn with the report's signs and colours.
// Words out of the file go to the page as text nodes alone, never as markup.
(function () {
  "use strict";
  var L = window.L;
  var byId = function (id) { return document.getElementById(id); };
  var box = byId("map"), detail = byId("detail"), told = byId("told"), where = byId("where");
  var about = JSON.parse(box.dataset.about);
  var still = window.matchMedia("(prefers-reduced-motion: reduce)").matches;

  var map = L.map(box, {
    crs: L.CRS.Simple, attributionControl: false, zoomSnap: 0.25, zoomDelta: 0.75, minZoom: -8, maxZoom: 8,
    zoomAnimation: !still, markerZoomAnimation: !still, inertia: !still
  });
  var home = document.createElement("a");
  home.href = "#";
  home.textContent = "All";
  home.className = "all";
  home.setAttribute("role", "button");
  home.setAttribute("aria-label", "Show all");
  home.addEventListener("click", function (e) { e.preventDefault(); all(); });
  map.zoomControl.getContainer().appendChild(home);
  box.addEventListener("keydown", function (e) { if (e.key === "0" && e.target === box) { all(); } });
  function all() { map.fitBounds([[0, 0], [about.size[1], about.size[0]]], { padding: [30, 30], maxZoom: 4, animate: false }); }
  L.control.scale({ imperial: false, maxWidth: 140 }).addTo(map);
  map.createPane("site").style.zIndex = 390;
  var canvas = L.canvas({ pane: "site", padding: 0.3 });
  var svg = L.svg({ padding: 0.3 });
  var site = L.layerGroup().addTo(map), result = L.layerGroup().addTo(map), names = L.layerGroup().addTo(map);
  var chosenLine = L.layerGroup().addTo(map);

  // --- Shapes -----------------------------------------------------------------------------------------------------------

  // x, y, x, y … as Leaflet takes them, north first.
  function places(flat) {
    var out = [];
    for (var i = 0; i + 1 < flat.length; i += 2) { out.push([flat[i + 1], flat[i]]); }
    return out;
  }

  // How the style sheet draws a class, for the canvas, which knows no style sheets.
  var probe = document.createElementNS("http://www.w3.org/2000/svg", "svg");
  probe.setAttribute("class", "drawing probe" + (box.classList.contains("apwa") ? " apwa" : ""));
  probe.setAttribute("width", "0");
  probe.setAttribute("height", "0");
  probe.setAttribute("aria-hidden", "true");
  document.body.appendChild(probe);
  var looks = {};
  function look(name) {
    if (!looks[name]) {
      var path = document.createElementNS("http://www.w3.org/2000/svg", ["tree", "trunk", "oldmanhole"].indexOf(name) >= 0 ? "circle" : "path");
      path.setAttribute("class", name);
      probe.appendChild(path);
      var s = window.getComputedStyle(path);
      looks[name] = {
        renderer: canvas, pane: "site", interactive: false, smoothFactor: 0.5, lineCap: "butt",
        stroke: s.stroke !== "none", color: s.stroke, weight: parseFloat(s.strokeWidth) || 1,
        dashArray: s.strokeDasharray === "none" ? null : s.strokeDasharray.replace(/px/g, ""),
        fill: s.fill !== "none", fillColor: s.fill, fillOpacity: parseFloat(s.fillOpacity), opacity: parseFloat(s.strokeOpacity)
      };
      path.remove();
    }
    return looks[name];
  }
  window.matchMedia("(prefers-color-scheme: dark)").addEventListener("change", function () { looks = {}; paint(); });

  function areas(thing, name, into) {
    (thing.areas || []).forEach(function (rings) { L.polygon(rings.map(places), look(name)).addTo(into); });
  }
  function lines(thing, name, into) {
    (thing.lines || []).forEach(function (flat) { L.polyline(places(flat), look(name)).addTo(into); });
  }

  // --- Signs and words --------------------------------------------------------------------------------------------------

  function sign(name, size, turn) {
    var out = document.createElementNS("http://www.w3.org/2000/svg", "svg");
    var all = document.createElementNS("http://www.w3.org/2000/svg", "g");
    out.setAttribute("width", size);
    out.setAttribute("height", size);
    out.setAttribute("viewBox", "-12 -12 24 24");
    out.setAttribute("aria-hidden", "true");
    if (turn) { all.setAttribute("transform", "rotate(" + turn + ")"); }
    // Copied rather than used, so that the style sheet reaches it in every browser.
    Array.from(byId("sign-" + name).children).forEach(function (part) { all.appendChild(part.cloneNode(true)); });
    out.appendChild(all);
    return out;
  }
  function word(text, name, turn) {
    var out = document.createElement("b");
    out.className = name;
    out.textContent = text;
    if (turn !== undefined) { out.style.transform = "translate(-50%, -50%) rotate(" + turn + "deg)"; }
    return out;
  }
  function mark(at, parts, options, into) {
    var all = document.createElement("div");
    parts.forEach(function (p) { all.appendChild(p); });
    var icon = L.divIcon({ className: "at", iconSize: [0, 0], html: all });
    var marker = L.marker(at, Object.assign({ icon: icon, keyboard: false, interactive: false }, options));
    return marker.addTo(into);
  }
  // Words of a tooltip: the first in bold.
  function tip(layer, words) {
    var out = document.createElement("div");
    words.filter(Boolean).forEach(function (text, i) {
      var line = document.createElement(i ? "div" : "b");
      line.dir = "auto";
      line.textContent = text;
      out.appendChild(line);
    });
    layer.bindTooltip(out, { sticky: true, direction: "top", offset: [0, -8] });
  }
  // Words keep clear of signs and of each other; those that come later give way. `wide` is their length along `turn`.
  var taken = {};
  function cells(at, wide, turn) {
    var p = map.latLngToContainerPoint(at), size = map.getSize(), angle = (turn || 0) * Math.PI / 180, out = [];
    if (p.x < 0 || p.y < 0 || p.x > size.x || p.y > size.y) { return []; }
    for (var d = -wide / 2; d <= wide / 2; d += 10) {
      out.push(Math.round((p.x + d * Math.cos(angle)) / 20) + " " + Math.round((p.y + d * Math.sin(angle)) / 20));
    }
    return out;
  }
  function take(at) { cells(at, 10).forEach(function (c) { taken[c] = true; }); }
  function free(at, wide, turn) {
    var wanted = cells(at, wide, turn);
    if (!wanted.length || wanted.some(function (c) { return taken[c]; })) { return false; }
    wanted.forEach(function (c) { taken[c] = true; });
    return true;
  }
  // The middle of the longest part of a line that is seen, its length and its turn on the screen.
  function middle(flat, share) {
    var seen = L.bounds([0, 0], map.getSize()), best = null;
    var points = places(flat).map(function (p) { return map.latLngToContainerPoint(p); });
    for (var i = 0; i + 1 < points.length; i += 1) {
      var part = L.LineUtil.clipSegment(points[i], points[i + 1], seen, false, true);
      var length = part ? part[0].distanceTo(part[1]) : 0;
      if (part && (!best || length > best.length)) {
        var d = part[1].subtract(part[0]);
        best = { length: length, turn: Math.atan2(d.y, d.x) * 180 / Math.PI, at: map.containerPointToLatLng(part[0].add(d.multiplyBy(share || 0.5))) };
      }
    }
    return best;
  }
  function upright(turn) { return turn > 90 ? turn - 180 : turn <= -90 ? turn + 180 : turn; }

  // --- The site ---------------------------------------------------------------------------------------------------------

  var kinds = Object.create(null);
  document.querySelectorAll(".key [data-kind]").forEach(function (e) { kinds[e.dataset.kind] = e.textContent; });
  var drawSite = {
    surfaces: function (t) { if (["asphalt", "concrete", "paving"].indexOf(t.cells.surface) >= 0) { areas(t, "paved", site); } },
    lots: function (t) { areas(t, "lot", site); },
    buildings: function (t) { areas(t, "building", site); },
    keepouts: function (t) { areas(t, "keepout", site); },
    fences: function (t) { lines(t, "fence", site); },
    routes: function (t) { lines(t, "way", site); },
    trees: function (t) {
      places(t.points || []).forEach(function (p) {
        L.circleMarker(p, Object.assign({}, look("tree"), { radius: 6 })).addTo(site);
        L.circleMarker(p, Object.assign({}, look("trunk"), { radius: 1.6, stroke: false })).addTo(site);
      });
    },
    manholes: function (t) {
      places(t.points || []).forEach(function (p) { L.circleMarker(p, Object.assign({}, look("oldmanhole"), { radius: 5 })).addTo(site); });
    },
    streets: function (t) {
      lines(t, "street", site);
      (t.lines || []).forEach(function (flat) {
        var m = t.cells.name && middle(flat, 0.3), text = t.cells.name ? String(t.cells.name) : "";
        if (m && m.length > 60 + 9 * text.length && free(m.at, 11 * text.length, m.turn)) { mark(m.at, [word(text, "street", upright(m.turn))], {}, names); }
      });
    },
    services: function (t) {
      if (t.cells.status === "removed") { return; }
      var kind = kinds[t.cells.kind] ? t.cells.kind : "other";
      var unknown = !t.levels && t.cells.cover_m === undefined;
      (t.lines || []).forEach(function (flat) {
        var line = L.polyline(places(flat), Object.assign({}, look("s " + kind), { interactive: true }));
        tip(line.addTo(site), [String(t.cells.kind || "service of unknown kind"), t.layer + " fid " + t.fid, unknown ? "depth not recorded" : "depth recorded", t.cells.owner ? String(t.cells.owner) : "owner not known"]);
        var m = middle(flat);
        if (m && m.length > 26 && free(m.at, 24)) { mark(m.at, [word((kinds[kind] || "O") + (unknown ? "?" : ""), "letter " + kind)], {}, names); }
      });
    }
  };

  // --- The result -------------------------------------------------------------------------------------------------------

  // Feature by id, of the bores that are seen.
  var known = new Map();
  function metres(n, digits) { return n === undefined ? "not stated" : Number(n).toFixed(digits) + " m"; }
  function path(name, more) { return Object.assign({ renderer: svg, className: name, interactive: false, fill: false }, more); }
  function drawBore(t) {
    var id = t.cells.bore_id === undefined ? "B" + t.fid : String(t.cells.bore_id);
    known.set(id, t.fid);
    (t.lines || []).forEach(function (flat) {
      var at = places(flat);
      L.polyline(at, path("bore")).addTo(result);
      var m = middle(flat), hit = L.polyline(at, path("hit", { interactive: true, bubblingMouseEvents: false })).addTo(result);
      tip(hit, ["Bore " + id, t.cells.length_m === undefined ? "" : metres(t.cells.length_m, 2), t.cells.grade === undefined ? "" : "falls " + (100 * t.cells.grade).toFixed(2) + " %"]);
      hit.on("click", function () { choose(t.fid); });
      if (!m) { return; }
      (m.length > 110 ? [0.28, 0.72] : [0.5]).forEach(function (share) {
        var part = middle(flat, share);
        mark(part.at, [sign("flow", 24, part.turn)], {}, result);
      });
      // Beside the line, which its signs keep.
      var wide = 8.5 * Math.min(id.length, 24);
      [0.5, 0.38, 0.62, 0.26, 0.74].some(function (share) {
        var part = middle(flat, share), turn = upright(part.turn), angle = turn * Math.PI / 180;
        var beside = map.latLngToContainerPoint(part.at).add([15 * Math.sin(angle), -15 * Math.cos(angle)]);
        var at = map.containerPointToLatLng(beside);
        var fits = m.length > 1.2 * wide && free(at, wide, turn);
        if (fits) { mark(at, [word(id, "bore", turn)], {}, names); }
        return fits;
      });
    });
  }
  function drawPit(t) {
    var role = ["launch", "reception", "both"].indexOf(t.cells.role) >= 0 ? t.cells.role : "reception";
    (t.areas || []).forEach(function (rings) {
      var area = L.polygon(rings.map(places), path("pit " + role, { fill: true, interactive: true })).addTo(result);
      var words = [String(t.cells.pit_id || "pit"), (t.cells.role || "role not stated") + (t.cells.manhole ? ", manhole" : ""), "depth " + metres(t.cells.depth_m, 2)];
      tip(area, words);
      var middle = area.getBounds().getCenter();
      tip(mark(middle, [sign(role, 17)], { interactive: true }, result), words);
      var text = String(t.cells.pit_id || "");
      if (map.getZoom() > 2) {
        // Clear of the footprint, however near one looks.
        var around = area.getBounds(), y = function (corner) { return map.latLngToContainerPoint(corner).y; };
        var half = (y(around.getSouthWest()) - y(around.getNorthEast())) / 2 + 13;
        [half, -half].some(function (down) {
          var at = map.containerPointToLatLng(map.latLngToContainerPoint(middle).add([0, down]));
          var fits = free(at, 8.5 * Math.min(text.length, 24));
          if (fits) { mark(at, [word(text, "pit")], {}, names); }
          return fits;
        });
      }
    });
  }
  var order = ["clear", "watch", "prove", "clash"];
  function drawConflict(t) {
    // A word that is none of the four says that nobody knows.
    var verdict = order.indexOf(t.cells.verdict) >= 0 ? t.cells.verdict : "prove";
    places(t.points || []).forEach(function (p) {
      var marker = mark(p, [sign(verdict, 22)], { interactive: true, zIndexOffset: 1000 * order.indexOf(verdict) }, result);
      tip(marker, [
        String(t.cells.verdict || "no verdict") + (verdict === "clear" ? " by the records" : ""),
        String(t.cells.kind || t.cells.obstacle || "") + (t.cells.depth_known ? "" : ", depth unknown"),
        "clearance " + metres(t.cells.clearance_m, 2), t.cells.owner ? String(t.cells.owner) : ""
      ]);
      marker.on("click", function () { chooseNamed(t.cells.bore_id); });
    });
  }
  // Beside its place and tied to it, so that the conflict that it is dug for stays seen.
  function holeSign(number) {
    var out = sign("hole", 56), hole = out.firstChild;
    out.setAttribute("viewBox", "-28 -28 56 56");
    function add(to, tag, name, more) {
      var el = document.createElementNS("http://www.w3.org/2000/svg", tag);
      el.setAttribute("class", name);
      Object.keys(more).forEach(function (k) { el.setAttribute(k, more[k]); });
      return to.appendChild(el);
    }
    hole.setAttribute("transform", "translate(15 -15)");
    add(hole, "text", "holeno", { y: 4 }).textContent = number;
    out.insertBefore(add(out, "path", "leader", { d: "M0 0L15 -15" }), hole);
    add(out, "circle", "hole", { r: 2 });
    return out;
  }
  function drawHole(t) {
    places(t.points || []).forEach(function (p) {
      var number = t.cells.priority === undefined ? "?" : String(t.cells.priority);
      var marker = mark(p, [holeSign(number)], { interactive: true, zIndexOffset: 5000 }, result);
      tip(marker, ["Test hole " + number, String(t.cells.kind || ""), "dig to " + metres(t.cells.dig_to_m, 2)]);
      marker.on("click", function () { chooseNamed(t.cells.bore_id); });
    });
  }
  function drawInspection(t) {
    places(t.points || []).forEach(function (p) {
      tip(mark(p, [sign("inspect", 22)], { interactive: true }, result), ["Look into after boring", String(t.cells.kind || ""), t.cells.owner ? String(t.cells.owner) : ""]);
    });
  }
  function drawBlocker(t) {
    (t.lines || []).forEach(function (flat) {
      L.polyline(places(flat), path("blocked")).addTo(result);
      var m = middle(flat);
      if (m) { tip(mark(m.at, [sign("blocker", 24)], { interactive: true, zIndexOffset: 6000 }, result), ["Route " + (t.cells.route_id || ""), t.cells.why === "levels" ? "no levels keep all rules" : "no pits that may be dug bridge this stretch", t.cells.remedies ? "each alone would help: " + t.cells.remedies : ""]); }
    });
  }
  var drawResult = {
    route_blockers: drawBlocker, proposed_pits: drawPit, proposed_bores: drawBore, bores: drawBore,
    bore_conflicts: drawConflict, test_holes: drawHole, bore_inspections: drawInspection
  };
  // Below to above; words first of what matters most.
  var siteOrder = ["surfaces", "lots", "keepouts", "buildings", "trees", "fences", "streets", "routes", "services", "manholes"];
  var resultOrder = ["route_blockers", "proposed_bores", "bores", "proposed_pits", "bore_inspections", "bore_conflicts", "test_holes"];

  // --- Asking and drawing -----------------------------------------------------------------------------------------------

  var answer = { layers: [] }, asked = null;
  function paint() {
    [site, result, names].forEach(function (g) { g.clearLayers(); });
    taken = {};
    known.clear();
    function each(order, draw) {
      order.forEach(function (part) {
        answer.layers.filter(function (l) { return l.part === part; }).forEach(function (l) {
          l.things.forEach(function (t) { t.layer = l.layer; draw[part](t); });
        });
      });
    }
    answer.layers.filter(function (l) { return ["bore_conflicts", "test_holes", "proposed_pits"].indexOf(l.part) >= 0; }).forEach(function (l) {
      l.things.forEach(function (t) { places(t.points || (t.areas && t.areas[0][0].slice(0, 8)) || []).forEach(take); });
      if (l.part !== "test_holes") { return; }
      l.things.forEach(function (t) { places(t.points || []).forEach(function (p) { take(map.containerPointToLatLng(map.latLngToContainerPoint(p).add([15, -15]))); }); });
    });
    each(resultOrder, drawResult);
    each(siteOrder, drawSite);
    say();
    inView();
    if (chosen !== null) { show(chosen); }
  }
  function say() {
    var many = [], not = [], broken = [];
    answer.layers.forEach(function (l) {
      if (l.not_drawn === "too many") { many.push(l.layer); } else if (l.not_drawn) { not.push((l.layer || "a layer") + " (" + l.not_drawn + ")"); }
      if (l.broken) { broken.push(l.broken + " of " + l.layer); }
    });
    var words = [];
    if (many.length) { words.push("Not drawn, since more lies in view than can be: " + many.join(", ") + ". Zoom in to see them."); }
    if (not.length) { words.push("Cannot be read: " + not.join(", ") + "."); }
    if (broken.length) { words.push("With a shape that cannot be read, and so not drawn: " + broken.join(", ") + "."); }
    var text = words.join(" ");
    if (told.textContent !== text) { told.textContent = text; }
  }
  function load() {
    if (asked) { asked.abort(); }
    var mine = asked = new AbortController();
    var seen = map.getBounds().pad(0.15);
    var window_ = [seen.getWest(), seen.getSouth(), seen.getEast(), seen.getNorth()].map(function (v) { return v.toFixed(2); });
    return fetch("/map/" + window_.join(","), { signal: mine.signal }).then(function (r) {
      return r.ok ? r.json() : r.text().then(function (t) { throw new Error(t); });
    }).then(function (a) {
      answer = a;
      paint();
      box.dataset.drawn = String(Number(box.dataset.drawn || 0) + 1);
    }).catch(function (e) {
      if (e.name !== "AbortError") { told.textContent = "The map could not be read: " + e.message; }
    });
  }
  var later = null;
  map.on("moveend", function () { clearTimeout(later); later = setTimeout(load, 90); });
  map.on("mousemove", function (e) {
    var east = (e.latlng.lng + about.origin[0]) / about.unit_m, north = (e.latlng.lat + about.origin[1]) / about.unit_m;
    where.textContent = "Grid north is up. E " + east.toFixed(2) + "  N " + north.toFixed(2);
  });

  // --- The bore chosen --------------------------------------------------------------------------------------------------

  var chosen = null;
  function link(fid) { return document.querySelector('#bores a[data-fid="' + fid + '"]'); }
  function linesOf(fid) {
    var found = [];
    answer.layers.filter(function (l) { return l.part === "proposed_bores" || l.part === "bores"; }).forEach(function (l) {
      l.things.forEach(function (t) { if (t.fid === fid) { found = found.concat((t.lines || []).map(places)); } });
    });
    return found;
  }
  function show(fid) {
    chosenLine.clearLayers();
    linesOf(fid).forEach(function (at) { L.polyline(at, path("chosen")).addTo(chosenLine).bringToBack(); });
  }
  function choose(fid) {
    chosen = fid;
    document.querySelectorAll("#bores a[aria-current]").forEach(function (a) { a.removeAttribute("aria-current"); });
    document.querySelectorAll('#bores a[data-fid="' + fid + '"]').forEach(function (a) { a.setAttribute("aria-current", "true"); });
    show(fid);
    history.replaceState(null, "", "#bore-" + fid);
    return fetch("/bore/" + fid).then(function (r) { return r.text().then(function (text) { return [r.ok, text]; }); }).then(function (got) {
      if (chosen !== fid) { return; }
      var part = got[0] && new DOMParser().parseFromString(got[1], "text/html").querySelector("main");
      if (!part) { detail.textContent = got[0] ? "Nothing is known of this bore." : got[1]; return; }
      var back = document.createElement("p"), a = document.createElement("a");
      a.href = "#bores";
      a.textContent = "Back to the list";
      a.addEventListener("click", function (e) { e.preventDefault(); toList(); });
      back.appendChild(a);
      detail.replaceChildren.apply(detail, Array.from(part.childNodes).concat([back]));
      var head = detail.querySelector("h2");
      head.focus({ preventScroll: true });
      head.scrollIntoView({ block: "nearest", behavior: still ? "auto" : "smooth" });
      var top = detail.getBoundingClientRect().top, room = window.innerHeight;
      if (top > room * 0.7) { window.scrollBy({ top: top - room * 0.55, behavior: still ? "auto" : "smooth" }); }
    });
  }
  function chooseNamed(id) { if (known.has(String(id))) { choose(known.get(String(id))); } }
  function toList() { (link(chosen) || byId("bores")).focus(); }
  byId("bores").addEventListener("click", function (e) {
    var a = e.target.closest("a[data-fid]");
    if (!a || e.ctrlKey || e.metaKey || e.shiftKey) { return; }
    e.preventDefault();
    var fid = Number(a.dataset.fid);
    choose(fid);
    if (a.dataset.box) {
      var w = a.dataset.box.split(",").map(Number);
      map.fitBounds([[w[1], w[0]], [w[3], w[2]]], { padding: [60, 60], maxZoom: 4, animate: !still });
    }
  });
  detail.addEventListener("keydown", function (e) { if (e.key === "Escape") { toList(); } });

  // --- The list ---------------------------------------------------------------------------------------------------------

  byId("find").addEventListener("input", function () {
    var wanted = this.value.trim().toLowerCase();
    document.querySelectorAll("#bores li:has(a[data-fid])").forEach(function (li) {
      li.hidden = wanted !== "" && li.querySelector("a").textContent.toLowerCase().indexOf(wanted) < 0;
    });
  });
  function inView() {
    var list = byId("inview");
    if (!list) { return; }
    var items = Array.from(known).map(function (bore) {
      var li = document.createElement("li"), a = document.createElement("a"), name = document.createElement("bdi");
      a.href = "/bore/" + bore[1];
      a.dataset.fid = bore[1];
      name.textContent = bore[0];
      a.appendChild(name);
      li.appendChild(a);
      return li;
    });
    list.replaceChildren.apply(list, items);
  }

  all();
  var of = /^#bore-(\d+)$/.exec(location.hash);
  if (of) { choose(Number(of[1])); }
})();
