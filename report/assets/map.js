// The map of the trail, the strip under it, and the place that the reader points at. It draws SVG at the size of the screen, so that lines are crisp
// and words keep their size. The page's script calls it; see window.trailMap.
"use strict";
window.trailMap = ({ $, $$, num, clock, onPlace }) => {
  const d = JSON.parse($("#map-data").textContent);
  const map = $("#map-draw"), strip = $("#strip-draw"), says = $("#place"), swatches = $("#map-classes");
  const n = d.x.length, end = (n - 1) * d.step;
  const widths = [3, 4.5, 6, 8, 10.5]; // px, of the classes
  let figure = 0, station = null, drawn = {};

  // --- Small tools --------------------------------------------------------------------------------------------------
  function add(parent, name, attributes, text) {
    const e = document.createElementNS("http://www.w3.org/2000/svg", name);
    for (const k in attributes) e.setAttribute(k, attributes[k]);
    if (text !== undefined) e.textContent = text;
    return parent.appendChild(e);
  }
  const clamp = (v, a, b) => Math.min(b, Math.max(a, v));
  const p1 = (v) => v.toFixed(1);
  function niceStep(v) {
    const unit = 10 ** Math.floor(Math.log10(v));
    return unit * [1, 2, 5, 10].find((k) => k * unit >= v * 0.999);
  }
  // search is the last i with list[i] <= v, -1 where there is none.
  function search(list, v) {
    let a = 0, b = list.length;
    while (a < b) { const m = (a + b) >> 1; if (list[m] <= v) a = m + 1; else b = m; }
    return a - 1;
  }
  function between(xs, ys, v) {
    const i = clamp(search(xs, v), 0, xs.length - 2), w = xs[i + 1] - xs[i];
    return w > 0 ? ys[i] + ((ys[i + 1] - ys[i]) * clamp((v - xs[i]) / w, 0, 1)) : ys[i];
  }

  // --- What is known of a place ---------------------------------------------------------------------------------------
  const stepOf = (f, m) => clamp(Math.floor((m - f.from) / f.step), 0, f.values.length - 1);
  const valueAt = (f, m) => { const v = f.values[stepOf(f, m)]; return v === undefined ? null : v; };
  const classOf = (f, v) => (v === null ? -1 : f.edges.filter((e) => v >= e).length);
  const classAt = (m) => (d.figures.length ? classOf(d.figures[figure], valueAt(d.figures[figure], m)) : 0);
  function passage(run, m) {
    const p = run.pieces.find((q) => m >= q.m[0] && m <= q.m[q.m.length - 1]);
    return p && { t: between(p.m, p.t, m), v: between(p.m, p.v, m) };
  }
  function stationAt(t) {
    const run = d.runs[0], p = run && run.pieces.find((q) => t >= q.t[0] && t <= q.t[q.t.length - 1]);
    return p ? clamp(between(p.t, p.m, t), 0, end) : null;
  }
  const marksAt = (m) => d.marks.filter((k) => m >= k.from - (k.from === k.to ? 3 : 0) && m <= k.to + (k.from === k.to ? 3 : 0));
  function words(m) {
    const parts = [];
    const passed = d.runs.map((r) => [r, passage(r, m)]).filter(([, p]) => p);
    if (d.runs.length === 1 && passed.length) parts.push(clock(passed[0][1].t, 1) + (d.since ? " " + d.since : ""), num(passed[0][1].v, 1) + " m/s");
    if (d.runs.length > 1) {
      for (const [r, p] of passed.slice(0, 4)) parts.push(r.name + " " + clock(p.t, 1) + " at " + num(p.v, 1) + " m/s");
      if (passed.length > 4) parts.push(passed.length - 4 + " more runs");
    }
    const travel = passed.length && onPlace.travel ? onPlace.travel(passed[0][1].t) : null;
    if (travel !== null && travel !== undefined) parts.push("travel " + num(travel, 0) + " mm");
    for (const f of d.figures) {
      const v = valueAt(f, m);
      if (v === null || f.key === "speed" || (f.key !== "rough" && f !== d.figures[figure])) continue;
      parts.push(f.label.toLowerCase() + " " + num(v, f.decimals) + " " + f.unit);
    }
    if (d.ele.length) parts.push("height " + num(d.ele[clamp(Math.round(m / d.step), 0, n - 1)], 0) + " m");
    parts.push(...new Set(marksAt(m).map((k) => k.text)));
    return "At " + num(m, 0) + " m: " + parts.join(" · ");
  }

  // --- Finding room for words -----------------------------------------------------------------------------------------
  function placer(W, H) {
    const taken = [];
    const free = (b) => b[0] >= 1 && b[1] >= 1 && b[2] <= W - 1 && b[3] <= H - 1 && taken.every((o) => b[2] < o[0] || b[0] > o[2] || b[3] < o[1] || b[1] > o[3]);
    return {
      take: (x, y, w, h) => taken.push([x - w / 2, y - h / 2, x + w / 2, y + h / 2]),
      // near finds room for a box of w by h near a point, first along the direction (nx, ny); must says to take any place inside at last.
      near(x, y, nx, ny, w, h, must) {
        const turn = [0, Math.PI, 0.7, -0.7, Math.PI + 0.7, Math.PI - 0.7, Math.PI / 2, -Math.PI / 2];
        for (const reach of [13, 22, 34, 48, 66, 90]) {
          for (const a of turn) {
            const ux = nx * Math.cos(a) - ny * Math.sin(a), uy = nx * Math.sin(a) + ny * Math.cos(a);
            const cx = x + ux * (reach + Math.abs(ux) * w / 2), cy = y + uy * (reach + Math.abs(uy) * h / 2);
            const box = [cx - w / 2 - 1, cy - h / 2 - 1, cx + w / 2 + 1, cy + h / 2 + 1];
            if (free(box)) { taken.push(box); return [cx, cy]; }
          }
        }
        if (!must) return null;
        const cx = clamp(x + nx * 24, w / 2 + 2, W - w / 2 - 2), cy = clamp(y + ny * 24, h / 2 + 2, H - h / 2 - 2);
        taken.push([cx - w / 2, cy - h / 2, cx + w / 2, cy + h / 2]);
        return [cx, cy];
      },
    };
  }

  // --- The map --------------------------------------------------------------------------------------------------------
  // layout turns the trail upright where that makes it larger, and never squeezes it: a metre is as long one way as the other.
  function layout(W, most) {
    const pad = 36, foot = 30, room = Math.max(100, W - 2 * pad), tall = most - 2 * pad - foot;
    const span = (v) => Math.max(...v) - Math.min(...v) || 1, w = span(d.x), h = span(d.y);
    const flat = Math.min(room / w, tall / h), turned = Math.min(room / h, tall / w), upright = turned > 1.2 * flat;
    const s = upright ? turned : flat, X = upright ? d.y.map((v) => -v) : d.x, Y = upright ? d.x : d.y;
    const x0 = (Math.min(...X) + Math.max(...X)) / 2, y0 = Math.min(...Y);
    const H = Math.round(Math.max(span(Y) * s, 90) + 2 * pad + foot);
    const top = pad + Math.max(0, 90 - span(Y) * s) / 2;
    const north = upright ? [-d.north[1], d.north[0]] : d.north;
    return { W, H, s, north, x: X.map((v) => W / 2 + (v - x0) * s), y: Y.map((v) => top + (v - y0) * s) };
  }
  const line = (l, a, b) => { let s = ""; for (let i = a; i <= b; i++) s += (i > a ? "L" : "M") + p1(l.x[i]) + " " + p1(l.y[i]); return s; };
  const at = (l, m) => { const i = clamp(m / d.step, 0, n - 1), a = Math.min(n - 2, Math.floor(i)), f = i - a; return [l.x[a] + f * (l.x[a + 1] - l.x[a]), l.y[a] + f * (l.y[a + 1] - l.y[a])]; };
  // normal is the unit vector to the left of the direction of travel, over a few px.
  function normal(l, m) {
    const r = Math.max(d.step, 8 / l.s), a = at(l, m - r), b = at(l, m + r), w = Math.hypot(b[0] - a[0], b[1] - a[1]) || 1;
    return [(b[1] - a[1]) / w, -(b[0] - a[0]) / w];
  }
  function drawMap(W, most) {
    const l = layout(W, most), svg = fresh(map, W, l.H), room = placer(W, l.H - 4);
    for (const k of d.marks) if (k.kind === "harsh") add(svg, "path", { d: line(l, ...stretch(k)), class: "m-harsh" });
    for (const k of d.marks) if (k.kind === "braking") beside(svg, l, k);
    const parts = classStretches();
    for (const p of parts) add(svg, "path", { d: line(l, p.a, p.b), class: "m-case", "stroke-width": (p.c < 0 ? 2 : widths[p.c]) + 2.5 });
    for (const p of parts) add(svg, "path", { d: line(l, p.a, p.b), class: p.c < 0 ? "m-none" : "m-line m-" + p.c, "stroke-width": p.c < 0 ? 2 : widths[p.c] });
    let last = null; // the line itself takes room
    for (let i = 0; i < n; i++) if (!last || Math.hypot(l.x[i] - last[0], l.y[i] - last[1]) > 5) { last = [l.x[i], l.y[i]]; room.take(last[0], last[1], 12, 12); }
    furniture(svg, l, room);
    arrows(svg, l);
    ends(svg, l, room);
    for (const k of d.marks) if (k.kind === "harsh") badge(svg, l, room, k);
    for (const k of d.marks) if (k.kind !== "harsh") glyph(svg, l, room, k);
    for (const k of d.marks) if (k.kind === "gate") gate(svg, l, room, k);
    drawn.map = l;
    drawn.ring = add(svg, "g", { class: "m-cursor", visibility: "hidden" });
    add(drawn.ring, "circle", { r: 9, class: "m-ring-out" });
    add(drawn.ring, "circle", { r: 9, class: "m-ring" });
  }
  function fresh(el, W, H) {
    el.replaceChildren();
    el.style.height = H + "px";
    return add(el, "svg", { width: W, height: H, "aria-hidden": "true", focusable: "false" });
  }
  const stretch = (k) => [clamp(Math.floor(k.from / d.step), 0, n - 1), clamp(Math.ceil(k.to / d.step), 0, n - 1)];
  // classStretches are the longest parts of the line of one class.
  function classStretches() {
    const out = [];
    for (let i = 0; i + 1 < n; i++) {
      const c = classAt((i + 0.5) * d.step), was = out[out.length - 1];
      if (was && was.c === c) was.b = i + 1; else out.push({ a: i, b: i + 1, c });
    }
    return out;
  }
  // beside draws braking as a line of strokes beside the trail.
  function beside(svg, l, k) {
    let s = "";
    const every = 6 / l.s;
    for (let m = k.from; m <= k.to; m += every) {
      const [x, y] = at(l, m), [nx, ny] = normal(l, m);
      s += `M${p1(x - nx * 8)} ${p1(y - ny * 8)}L${p1(x - nx * 13)} ${p1(y - ny * 13)}`;
    }
    if (s) add(svg, "path", { d: s, class: "m-braking" });
  }
  function furniture(svg, l, room) {
    const bar = niceStep(Math.min(110, l.W / 4) / l.s), w = bar * l.s, y = l.H - 14;
    const g = add(svg, "g", { class: "m-scale" });
    add(g, "path", { d: `M12 ${y - 5}v5h${p1(w)}v-5` });
    add(g, "text", { x: p1(w + 20), y: y + 1 }, num(bar, bar < 1 ? 1 : 0) + " m");
    room.take(12 + w / 2 + 26, y, w + 70, 20);
    const c = [l.W - 26, l.H - 24], [nx, ny] = l.north, north = add(svg, "g", { class: "m-north" });
    const tip = [c[0] + nx * 13, c[1] + ny * 13], tail = [c[0] - nx * 9, c[1] - ny * 9];
    add(north, "path", { d: `M${p1(tip[0])} ${p1(tip[1])}L${p1(tail[0] - ny * 6)} ${p1(tail[1] + nx * 6)}L${p1(c[0] - nx * 5)} ${p1(c[1] - ny * 5)}L${p1(tail[0] + ny * 6)} ${p1(tail[1] - nx * 6)}Z` });
    const side = nx > 0 ? 1 : -1; // beside the arrow, away from its tip
    add(north, "text", { x: p1(c[0] - 18), y: p1(c[1] + 4), "text-anchor": "end" }, side ? "N" : "");
    room.take(c[0] - 12, c[1], 56, 40);
  }
  function arrows(svg, l) {
    const every = 95 / l.s;
    for (let m = every / 2; m < end; m += every) {
      const [x, y] = at(l, m), [nx, ny] = normal(l, m), ux = -ny, uy = nx;
      const s = `M${p1(x - ux * 4 + nx * 5)} ${p1(y - uy * 4 + ny * 5)}L${p1(x + ux * 3)} ${p1(y + uy * 3)}L${p1(x - ux * 4 - nx * 5)} ${p1(y - uy * 4 - ny * 5)}`;
      add(svg, "path", { d: s, class: "m-arrow-out" });
      add(svg, "path", { d: s, class: "m-arrow" });
    }
  }
  function ends(svg, l, room) {
    for (const [m, text] of [[0, "Start"], [end, "Finish"]]) {
      const [x, y] = at(l, m), [nx, ny] = normal(l, m);
      if (m === 0) add(svg, "circle", { cx: p1(x), cy: p1(y), r: 7, class: "m-end" });
      else add(svg, "rect", { x: p1(x - 7), y: p1(y - 7), width: 14, height: 14, class: "m-end" });
      room.take(x, y, 18, 18);
      label(svg, room.near(x, y, nx, ny, 7.4 * text.length, 15, true), text, "m-word strong");
    }
  }
  const label = (svg, c, text, cls) => c && add(svg, "text", { x: p1(c[0]), y: p1(c[1] + 4), "text-anchor": "middle", class: cls }, text);
  function badge(svg, l, room, k) {
    const m = (k.from + k.to) / 2, [x, y] = at(l, m), c = room.near(x, y, ...normal(l, m), 24, 24, true);
    add(svg, "path", { d: `M${p1(x)} ${p1(y)}L${p1(c[0])} ${p1(c[1])}`, class: "m-leader" });
    add(svg, "rect", { x: p1(c[0] - 11), y: p1(c[1] - 11), width: 22, height: 22, rx: 3, class: "m-badge" });
    label(svg, c, k.short, "m-number");
  }
  function glyph(svg, l, room, k) {
    const m = (k.from + k.to) / 2, [x, y] = at(l, m), [nx, ny] = normal(l, m), low = k.kind.startsWith("bottom");
    if (!low && k.kind !== "jump") return;
    const c = room.near(x, y, low ? -nx : nx, low ? -ny : ny, 14, 14, true);
    if (Math.hypot(c[0] - x, c[1] - y) > 26) add(svg, "path", { d: `M${p1(x)} ${p1(y)}L${p1(c[0])} ${p1(c[1])}`, class: "m-leader" });
    shape(svg, k.kind, c[0], c[1]);
  }
  function shape(svg, kind, x, y) {
    const a = { jump: "M-7 5A7.4 7.4 0 0 1 7 5Z", bottom: "M0 -6L7 6H-7Z", "bottom-hard": "M0 -8L8 0L0 8L-8 0Z" }[kind];
    add(svg, "path", { d: a, transform: `translate(${p1(x)} ${p1(y)})`, class: "m-" + kind });
  }
  function gate(svg, l, room, k) {
    const m = k.from, [x, y] = at(l, m), [nx, ny] = normal(l, m);
    add(svg, "path", { d: `M${p1(x - nx * 12)} ${p1(y - ny * 12)}L${p1(x + nx * 12)} ${p1(y + ny * 12)}`, class: "m-gate" });
    if (Math.min(Math.abs(m), Math.abs(end - m)) * l.s < 40 && /^(start|finish)$/i.test(k.short)) return; // the end of the line says it
    label(svg, room.near(x, y, nx, ny, 6.9 * k.short.length, 14, false), k.short, "m-word");
  }

  // --- The strip: height and the figure along the trail ------------------------------------------------------------------
  function drawStrip(W) {
    const left = 46, right = 12, hasEle = d.ele.length === n && n > 1, top = 22, tall = hasEle ? (onePage() ? 46 : 84) : 0, lane = top + tall + 10, bars = lane + 14;
    const f = d.figures[figure], base = bars + (f ? 44 : 0), H = base + 40, svg = fresh(strip, W, H), x = (m) => left + (m / end) * (W - left - right);
    let free = -99;
    for (const k of d.marks.filter((q) => q.kind === "harsh")) {
      add(svg, "rect", { x: p1(x(k.from)), y: top - 4, width: p1(Math.max(2, x(k.to) - x(k.from))), height: base - top + 4, class: "s-harsh" });
      const mid = (x(k.from) + x(k.to)) / 2;
      if (mid - free > 16) { add(svg, "text", { x: p1(mid), y: top - 8, "text-anchor": "middle", class: "m-number plain" }, k.short); free = mid; }
    }
    if (hasEle) height(svg, x, W - right, top, tall);
    if (f) figureBars(svg, f, x, bars, base);
    for (const k of d.marks) if (k.kind === "gate") add(svg, "path", { d: `M${p1(x(k.from))} ${top - 4}V${base}`, class: "s-gate" });
    for (const k of d.marks) if (k.kind === "braking") add(svg, "path", { d: `M${p1(x(k.from))} ${lane + 7}H${p1(Math.max(x(k.to), x(k.from) + 3))}`, class: "s-braking" });
    for (const k of d.marks) if (k.kind === "jump" || k.kind.startsWith("bottom")) shape(svg, k.kind, x((k.from + k.to) / 2), lane);
    add(svg, "path", { d: `M${left} ${base}H${W - right}`, class: "s-axis" });
    const step = niceStep(end / Math.max(2, (W - left - right) / 85));
    for (let m = 0; m <= end + 1e-6; m += step) {
      add(svg, "path", { d: `M${p1(x(m))} ${base}v5`, class: "s-axis" });
      add(svg, "text", { x: p1(x(m)), y: base + 18, "text-anchor": x(m) > W - right - 14 ? "end" : "middle" }, num(m, 0));
    }
    add(svg, "text", { x: p1((left + W - right) / 2), y: base + 35, "text-anchor": "middle" }, "Along the trail, m");
    drawn.strip = { x, left, right, W };
    drawn.bar = add(svg, "path", { d: `M0 ${top - 6}V${base}`, class: "s-cursor", visibility: "hidden" });
  }
  function height(svg, x, right, top, tall) {
    const low = Math.min(...d.ele), high = Math.max(...d.ele), span = Math.max(high - low, 1), y = (e) => top + tall - ((e - low) / span) * (tall - 4);
    let s = "";
    d.ele.forEach((e, i) => (s += (i ? "L" : "M") + p1(x(i * d.step)) + " " + p1(y(e))));
    add(svg, "path", { d: s + `L${p1(x(end))} ${top + tall}L${p1(x(0))} ${top + tall}Z`, class: "s-ground" });
    add(svg, "path", { d: s, class: "s-height" });
    for (const e of [high, low]) add(svg, "text", { x: 40, y: p1(clamp(y(e) + 4, top + 8, top + tall)), "text-anchor": "end" }, num(e, 0));
    add(svg, "text", { x: 2, y: 12 }, "Height, m");
  }
  function figureBars(svg, f, x, top, base) {
    const most = Math.max(...f.values.filter((v) => v !== null), 1e-9);
    f.values.forEach((v, i) => {
      const a = clamp(f.from + i * f.step, 0, end), b = clamp(f.from + (i + 1) * f.step, 0, end);
      if (v === null || b <= a) return;
      const h = Math.max(2, (v / most) * (base - top));
      add(svg, "rect", { x: p1(x(a)), y: p1(base - h), width: p1(Math.max(0.8, x(b) - x(a) - 0.4)), height: p1(h), class: "s-bar m-" + classOf(f, v) });
    });
    add(svg, "text", { x: 40, y: top + 10, "text-anchor": "end" }, num(most, most < 20 ? 1 : 0));
    add(svg, "text", { x: 40, y: base - 1, "text-anchor": "end" }, "0");
  }

  // --- Legend of the colours --------------------------------------------------------------------------------------------
  function drawClasses() {
    const f = d.figures[figure];
    swatches.replaceChildren();
    if (!f) return;
    const head = document.createElement("li");
    head.textContent = f.label + ", " + f.unit + ":";
    swatches.appendChild(head);
    f.classes.forEach((text, i) => {
      const li = document.createElement("li"), svg = add(li, "svg", { width: 30, height: 16, "aria-hidden": "true" });
      add(svg, "path", { d: "M4 8H26", class: "m-case", "stroke-width": widths[i] + 2.5 });
      add(svg, "path", { d: "M4 8H26", class: "m-line m-" + i, "stroke-width": widths[i] });
      li.appendChild(document.createElement("span")).textContent = text;
      swatches.appendChild(li);
    });
  }

  // --- The place that is pointed at ---------------------------------------------------------------------------------------
  // go moves to a station; from says who asks, so that it is not told in turn.
  function go(m, from) {
    station = m === null ? null : clamp(m, 0, end);
    show();
    if (from !== "time") { const p = station === null || !d.runs.length ? null : passage(d.runs[0], station); onPlace.time(p ? p.t : null, from === "keys"); }
    onPlace.station(station);
  }
  function show() {
    const hidden = station === null ? "hidden" : "visible";
    drawn.ring.setAttribute("visibility", hidden);
    drawn.bar.setAttribute("visibility", hidden);
    if (station === null) return;
    const [x, y] = at(drawn.map, station);
    drawn.ring.setAttribute("transform", `translate(${p1(x)} ${p1(y)})`);
    drawn.bar.setAttribute("transform", `translate(${p1(drawn.strip.x(station))} 0)`);
    const text = words(station);
    says.textContent = text;
    for (const el of [map, strip]) { el.setAttribute("aria-valuenow", Math.round(station)); el.setAttribute("aria-valuetext", text); }
  }
  function nearest(x, y) {
    let best = 0, least = Infinity;
    for (let i = 0; i < n; i++) {
      const q = (drawn.map.x[i] - x) ** 2 + (drawn.map.y[i] - y) ** 2;
      if (q < least) { least = q; best = i; }
    }
    return best * d.step;
  }
  function point(e, el) {
    const b = el.getBoundingClientRect(), x = e.clientX - b.left, s = drawn.strip;
    go(el === map ? nearest(x, e.clientY - b.top) : ((x - s.left) / (s.W - s.left - s.right)) * end, "pointer");
  }
  function key(e) {
    if (e.ctrlKey || e.metaKey || e.altKey) return;
    const m = station === null ? 0 : station, step = Math.max(d.step, niceStep(end / 250)) * (e.shiftKey ? 10 : 1), places = [...new Set(d.marks.map((k) => (k.from + k.to) / 2))].sort((a, b) => a - b);
    const to = {
      ArrowRight: m + step, ArrowUp: m + step, ArrowLeft: m - step, ArrowDown: m - step, Home: 0, End: end,
      PageDown: places.find((p) => p > m + 0.1) ?? end, PageUp: places.findLast((p) => p < m - 0.1) ?? 0,
    }[e.key];
    if (to === undefined) return;
    e.preventDefault();
    go(to, "keys");
  }
  for (const el of [map, strip]) {
    el.setAttribute("aria-valuemin", 0);
    el.setAttribute("aria-valuemax", Math.round(end));
    el.setAttribute("aria-valuenow", 0);
    el.addEventListener("pointermove", (e) => point(e, el));
    el.addEventListener("pointerdown", (e) => point(e, el));
    el.addEventListener("keydown", key);
  }
  for (const b of $$("[data-map-figure]")) {
    b.addEventListener("click", () => {
      figure = +b.dataset.mapFigure;
      for (const o of $$("[data-map-figure]")) o.setAttribute("aria-pressed", String(o === b));
      draw();
    });
  }
  let paper = 0;
  const onePage = () => paper && document.documentElement.dataset.print === "one";
  // draw draws everything to the width of the screen, or of the paper.
  function draw(width) {
    if (width !== undefined) paper = width;
    const W = Math.floor(paper || map.clientWidth);
    if (!W) return;
    drawMap(W, paper ? (onePage() ? 220 : 330) : W < 500 ? 520 : 480);
    drawStrip(W);
    drawClasses();
    show();
  }
  return { draw, go, stationAt, shownAt: () => station };
};
