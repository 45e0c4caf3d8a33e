// The page's own script: theme, tabs, charts, the zoom of the time line and print. The map is in map.js. No network, no library but ECharts.
"use strict";
(() => {
  const root = document.documentElement;
  root.classList.add("js");
  const $ = (q, from) => (from || document).querySelector(q);
  const $$ = (q, from) => [...(from || document).querySelectorAll(q)];
  const data = JSON.parse($("#chart-data").textContent);
  const shown = new Map(); // chart id -> {chart, view}
  let printing = false;

  // --- Numbers in words -------------------------------------------------------------------------------------------
  const num = (v, d) => (+v).toFixed(d).replace(/^-(?=0*\.?0*$)/, "").replace("-", "−");
  function clock(s, d) {
    const unit = 10 ** d, t = Math.round(Math.abs(s) * unit), m = Math.floor(t / unit / 60), h = Math.floor(m / 60);
    const sec = ((t - m * 60 * unit) / unit).toFixed(d).padStart(d ? 3 + d : 2, "0");
    return (s < 0 ? "−" : "") + (h ? h + ":" + String(m % 60).padStart(2, "0") : m) + ":" + sec;
  }
  const plain = (v) => String(+(+v).toPrecision(10)).replace("-", "−");
  const significant = (v) => num(v, Math.max(0, Math.min(6, 2 - Math.floor(Math.log10(Math.abs(v) || 1)))));
  // Hover text is set as text, never as markup.
  function tip(lines) {
    const box = document.createElement("div");
    box.className = "tip";
    for (const l of lines) box.appendChild(document.createElement("div")).textContent = l;
    return box;
  }
  // fill writes a pattern: {1:2} is dimension 1 with two decimals, {0:clock} a time, {0:s} three significant digits.
  function fill(pattern, p, option) {
    const axis = (a, i) => (option[a][0].data || [])[p.value[i]];
    return pattern.replace(/\{(\w+)(?::(\w+))?\}/g, (_, key, how) => {
      if (key === "series") return p.seriesName;
      if (key === "x") return num(axis("xAxis", 0), 0);
      if (key === "y") return num(axis("yAxis", 1), 0);
      const v = p.value[+key];
      if (how === "clock") return clock(v, 1);
      return how === "s" ? significant(v) : num(v, +how);
    });
  }
  function hover(v) {
    if (v.tip === "trace") return traceTip;
    return (params) => {
      const all = Array.isArray(params) ? params : [params];
      const lines = all.map((p) => (v.tip === "name" ? p.data && p.data.name : fill(v.tip, p, v.option)));
      return tip(lines.filter(Boolean));
    };
  }

  // --- Colours ----------------------------------------------------------------------------------------------------
  // Options name colours as "@name"; the style sheet holds them.
  function paint(o, style) {
    if (typeof o === "string" && /^@[a-z0-9-]+$/.test(o)) return style.getPropertyValue("--" + o.slice(1)).trim() || o;
    if (Array.isArray(o)) return o.map((x) => paint(x, style));
    if (o && typeof o === "object") return Object.fromEntries(Object.entries(o).map(([k, x]) => [k, paint(x, style)]));
    return o;
  }
  function ready(v) {
    const style = getComputedStyle(root), o = paint(v.option, style);
    o.textStyle = { fontFamily: getComputedStyle(document.body).fontFamily };
    o.tooltip = Object.assign(o.tooltip || {}, {
      formatter: hover(v), confine: true, backgroundColor: style.getPropertyValue("--sheet"),
      borderColor: style.getPropertyValue("--edge"), textStyle: { color: style.getPropertyValue("--ink"), fontSize: 13 },
    });
    for (const a of [].concat(o.xAxis || [], o.yAxis || [])) {
      if (a.wide && matchMedia("(min-width: 60rem)").matches && !printing) a.axisLabel.width = a.wide;
      if (a.time) a.axisLabel.formatter = tickLabel;
      else if (a.clock) a.axisLabel.formatter = (s) => clock(s, 0);
      else if (a.type !== "category") a.axisLabel.formatter = plain;
    }
    for (const z of o.dataZoom || []) {
      if (z.type === "slider" && printing) z.show = false;
      if (z.time) z.labelFormatter = (s) => clock(s, 1);
      if (z.type === "inside") z.disabled = matchMedia("(pointer: coarse)").matches;
    }
    return o;
  }

  // --- Charts -----------------------------------------------------------------------------------------------------
  const seen = (el) => el.clientWidth && !el.closest("details:not([open])"); // a closed fold has a width in some browsers
  function draw(el) {
    const id = el.dataset.chart, had = shown.get(id);
    if (!data[id] || !seen(el)) return;
    if (had) return had.chart.resize();
    const chart = echarts.init(el, null, { renderer: "svg" });
    shown.set(id, { chart, view: 0 });
    chart.setOption(ready(data[id][0]));
    if (id === "trace") startTrace(chart, el);
    if (map && data[id][0].along) follow(id, chart, el);
  }
  const drawAll = () => { $$("[data-chart]").forEach(draw); if (map) map.draw(); };
  // drawSoon draws one chart at a time, so that the page answers in between.
  function drawSoon() {
    if (map) map.draw();
    const rest = $$("[data-chart]").filter(seen);
    const next = () => { const el = rest.shift(); if (el) { draw(el); setTimeout(next, 0); } };
    next();
  }
  // noTips closes hover texts: an open one would be shown again from a timer, after the chart was made anew without it.
  const noTips = () => { for (const s of shown.values()) s.chart.dispatchAction({ type: "hideTip" }); };
  function repaint() {
    noTips();
    for (const [id, s] of shown) {
      const range = id === "trace" && trace ? view() : null;
      s.chart.setOption(ready(data[id][s.view]), true);
      if (range) zoom(range[0], range[1]);
    }
    for (const id of lines.keys()) place(id);
  }
  // --- The place on the trail, shown in all drawings that lie along it ----------------------------------------------
  // A chart that lies along time or the trail says so in its view; follow links it to the map.
  const lines = new Map(); // chart id -> {chart, el, bar, at}
  const map = window.trailMap && $("#map-data") ? window.trailMap({ $, $$, num, clock, onPlace: {
    time: (t, byKeys) => { for (const [id, l] of lines) if (along(id) === "time") { l.at = t; if (byKeys && t !== null) bring(t); place(id); } },
    station: (m) => { for (const [id, l] of lines) if (along(id) === "station") { l.at = m; place(id); } },
    travel: (t) => (trace ? travelAt(t) : null),
  } }) : null;
  const along = (id) => data[id][0].along;
  function follow(id, chart, el) {
    const bar = el.appendChild(document.createElement("i"));
    bar.className = "cursor";
    bar.hidden = true;
    lines.set(id, { chart, el, bar, at: null });
    chart.getZr().on("mousemove", (e) => {
      if (!chart.containPixel({ gridIndex: "all" }, [e.offsetX, e.offsetY])) return;
      const v = chart.convertFromPixel({ xAxisIndex: 0 }, e.offsetX);
      if (along(id) === "station") return map.go(v, "station");
      const m = map.stationAt(v);
      lines.get(id).at = v;
      place(id);
      if (m !== null) map.go(m, "time");
    });
    chart.on("datazoom", () => place(id));
  }
  // place puts the bar of a chart where its time or station is.
  function place(id) {
    const l = lines.get(id);
    const x = l.at === null ? -1 : l.chart.convertToPixel({ xAxisIndex: 0 }, l.at);
    const inside = l.at !== null && l.chart.containPixel({ gridIndex: "all" }, [x, l.chart.getHeight() / 4]);
    l.bar.hidden = !inside;
    l.bar.style.cssText = `left:${Math.round(x) - 1}px;top:24px;bottom:${id === "trace" ? 78 : 46}px`;
  }
  // bring moves the time line where a time is outside of what it shows.
  function bring(t) {
    const [a, b] = trace ? view() : [-Infinity, Infinity];
    if (t < a || t > b) zoom(t - (b - a) / 2, t + (b - a) / 2);
  }
  function travelAt(t) {
    const s = trace.segments.find((g) => t >= g.start_s && t < g.start_s + g.travel.length * trace.dt);
    return s ? s.travel[Math.floor((t - s.start_s) / trace.dt)] : null;
  }

  for (const b of $$("[data-chart-view]")) {
    b.addEventListener("click", () => {
      const s = shown.get(b.dataset.chartView);
      s.view = +b.dataset.view;
      s.chart.setOption(ready(data[b.dataset.chartView][s.view]), true);
      for (const o of $$(`[data-chart-view="${b.dataset.chartView}"]`)) o.setAttribute("aria-pressed", String(o === b));
    });
  }

  // --- The time line ----------------------------------------------------------------------------------------------
  let trace = null, tickStep = 1;
  function unpack(text, step) {
    const bin = atob(text), bytes = new Uint8Array(bin.length);
    for (let i = 0; i < bin.length; i++) bytes[i] = bin.charCodeAt(i);
    return Float32Array.from(new Int16Array(bytes.buffer), (q) => q * step);
  }
  function startTrace(chart, el) {
    const t = JSON.parse($("#trace-data").textContent);
    const steps = { travel: t.travel_step_mm, speed: t.speed_step_mm_s, rough: t.rough_step_mm_s };
    for (const s of t.segments) for (const k in steps) s[k] = unpack(s[k], steps[k]);
    const areas = chart.getOption().series[0].markArea?.data || [];
    trace = { chart, el, areas, end: t.end_s, dt: t.bucket_s / t.per_bucket, cell: t.cell_s, segments: t.segments };
    chart.on("datazoom", refill);
    refill();
  }
  // visible thins one signal to the pixels there are: the smallest and the largest of each column, in order.
  function visible(key, dt, from, to, columns) {
    const out = [];
    for (const s of trace.segments) {
      const x = s[key], a = Math.max(0, Math.floor((from - s.start_s) / dt) - 1);
      const b = Math.min(x.length, Math.ceil((to - s.start_s) / dt) + 2);
      if (a >= b) continue;
      if (out.length) out.push([s.start_s, "-"]);
      const n = Math.max(1, Math.floor((b - a) / columns));
      for (let i = a; i < b; i += n) {
        let lo = i, hi = i;
        for (let j = i + 1; j < Math.min(b, i + n); j++) {
          if (x[j] < x[lo]) lo = j;
          if (x[j] > x[hi]) hi = j;
        }
        for (const j of lo === hi ? [lo] : [Math.min(lo, hi), Math.max(lo, hi)]) out.push([s.start_s + (j + 0.5) * dt, +x[j].toFixed(2)]);
      }
    }
    return out;
  }
  const view = () => { const z = trace.chart.getOption().dataZoom[0]; return [z.startValue, z.endValue]; };
  const niceSteps = [0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 1200, 1800, 3600];
  // tickLabel leaves off the odd ends of the axis.
  function tickLabel(s) {
    const k = s / tickStep;
    return Math.abs(k - Math.round(k)) > 1e-6 ? "" : clock(s, tickStep < 0.1 ? 2 : tickStep < 1 ? 1 : 0);
  }
  // labelled leaves out labels of marked stretches that would lie on one another. They come harshest first.
  function labelled(from, to, width) {
    const taken = { top: [], bottom: [] }, room = 20; // px
    return trace.areas.map(([a, b]) => {
      const middle = (Math.max(a.xAxis, from) + Math.min(b.xAxis, to)) / 2, at = ((middle - from) / (to - from)) * width;
      const row = taken[a.label.position], free = row.every((other) => Math.abs(at - other) >= room);
      if (free && b.xAxis > from && a.xAxis < to) row.push(at);
      return [{ ...a, label: { ...a.label, show: free } }, b];
    });
  }
  function refill() {
    const [from, to] = view(), width = trace.el.clientWidth || 600;
    const step = niceSteps.find((s) => (to - from) / s <= Math.max(3, width / 90)) || 3600;
    tickStep = step;
    const columns = Math.max(200, width);
    trace.chart.setOption({
      xAxis: [0, 1, 2].map(() => ({ minInterval: step, maxInterval: step })),
      series: [
        { data: visible("travel", trace.dt, from, to, columns), markArea: { data: labelled(from, to, width) } },
        { data: visible("speed", trace.dt, from, to, columns) },
        { data: visible("rough", trace.cell, from, to, columns) },
      ],
    });
  }
  function traceTip(params) {
    if (!Array.isArray(params)) return tip([params.data.name]);
    const lines = [];
    for (const p of params) {
      if (p.seriesIndex > 2 || p.value[1] === "-") continue;
      if (!lines.length) lines.push("At " + clock(p.value[0], 2));
      const v = p.value[1];
      if (p.seriesIndex === 0) lines.push("Travel " + num(v, 1) + " mm");
      if (p.seriesIndex === 1) lines.push(num(Math.abs(v), 0) + " mm/s " + (v < 0 ? "rebound" : "compression"));
      if (p.seriesIndex === 2) lines.push("Roughness " + num(v, 0) + " mm/s RMS");
    }
    return tip(lines);
  }
  function zoom(from, to) {
    const span = Math.min(trace.end, Math.max(0.2, to - from));
    const start = Math.min(Math.max(0, from), trace.end - span);
    trace.chart.dispatchAction({ type: "dataZoom", dataZoomIndex: 0, startValue: start, endValue: start + span });
    refill();
  }
  const status = $("#timeline-status"), back = $("#go-back");
  let cameFrom = null;
  function say(text) {
    status.textContent = text;
    status.classList.add("moved");
  }
  function move(how) {
    const [a, b] = view(), mid = (a + b) / 2, w = b - a;
    if (how === "all") zoom(0, trace.end);
    if (how === "in") zoom(mid - w / 4, mid + w / 4);
    if (how === "out") zoom(mid - w, mid + w);
    if (how === "back") zoom(a - w / 4, b - w / 4);
    if (how === "on") zoom(a + w / 4, b + w / 4);
    const [c, d] = view();
    say("Showing " + clock(c, 1) + " to " + clock(d, 1) + ".");
  }
  for (const b of $$("[data-zoom]")) b.addEventListener("click", () => move(b.dataset.zoom));
  const traceEl = $('[data-chart="trace"]');
  if (traceEl) {
    const keys = { ArrowLeft: "back", ArrowRight: "on", "+": "in", "=": "in", "-": "out", Home: "all" };
    traceEl.addEventListener("keydown", (e) => {
      if (!keys[e.key] || e.ctrlKey || e.metaKey) return;
      e.preventDefault();
      if (map && e.shiftKey && e.key.startsWith("Arrow")) return step(e.key === "ArrowRight" ? 1 : -1);
      move(keys[e.key]);
    });
  }
  // step moves the place by a hundredth of what the time line shows.
  function step(way) {
    const [a, b] = view(), was = lines.get("trace").at, t = Math.min(trace.end, Math.max(0, (was === null ? a : was) + (way * (b - a)) / 100));
    bring(t);
    lines.get("trace").at = t;
    place("trace");
    const m = map.stationAt(t);
    if (m !== null) map.go(m, "time");
    say("The place is at " + clock(t, 1) + (m === null ? ", where the run is not on the map." : ", " + num(m, 0) + " m along the trail."));
  }
  document.addEventListener("click", (e) => {
    const a = e.target.closest("a.go");
    if (a && map && a.dataset.m) {
      e.preventDefault();
      map.go(+a.dataset.m, "keys");
      $("#map").scrollIntoView({ block: "start" });
      $("#map-draw").focus({ preventScroll: true });
      return;
    }
    if (!a || !trace) return;
    e.preventDefault();
    const from = +a.dataset.from, to = +a.dataset.to, pad = Math.max(0.3, (to - from) * 0.08);
    zoom(from - pad, to + pad);
    say("Showing " + a.dataset.text + ": " + clock(from, 1) + " to " + clock(to, 1) + ".");
    cameFrom = a;
    back.hidden = false;
    status.focus({ preventScroll: true });
    $("#timeline").scrollIntoView({ block: "start" });
  });
  if (back) {
    back.addEventListener("click", () => {
      back.hidden = true;
      cameFrom.scrollIntoView({ block: "center" });
      cameFrom.focus();
    });
  }

  // --- Tabs -------------------------------------------------------------------------------------------------------
  const tabs = $$("[role=tab]");
  function select(tab, focus) {
    for (const t of tabs) {
      t.setAttribute("aria-selected", String(t === tab));
      t.tabIndex = t === tab ? 0 : -1;
      $("#" + t.getAttribute("aria-controls")).hidden = t !== tab;
    }
    if (focus) tab.focus();
    drawSoon();
  }
  for (const [i, t] of tabs.entries()) {
    t.addEventListener("click", () => select(t));
    t.addEventListener("keydown", (e) => {
      const to = { ArrowRight: i + 1, ArrowLeft: i - 1, Home: 0, End: tabs.length - 1 }[e.key];
      if (to === undefined) return;
      e.preventDefault();
      select(tabs[(to + tabs.length) % tabs.length], true);
    });
  }

  // --- Folds: what is inside is drawn when it is seen ----------------------------------------------------------------
  for (const d of $$("details.fold")) d.addEventListener("toggle", () => { if (d.open && !printing) drawSoon(); });

  // --- Theme ------------------------------------------------------------------------------------------------------
  const dark = matchMedia("(prefers-color-scheme: dark)"), button = $("#theme");
  const isDark = () => (root.dataset.theme ? root.dataset.theme === "dark" : dark.matches);
  const label = () => { button.textContent = isDark() ? "Light" : "Dark"; button.setAttribute("aria-label", "Switch to " + (isDark() ? "light" : "dark")); button.removeAttribute("aria-pressed"); };
  button.addEventListener("click", () => { root.dataset.theme = isDark() ? "light" : "dark"; label(); repaint(); });
  dark.addEventListener("change", () => { label(); repaint(); });

  // --- Print: light, every reading, drawings to the width of the paper, short details open -------------------------
  let before = null;
  const paperWidth = 680;
  function startPrint() {
    if (printing) return;
    printing = true;
    noTips();
    before = { theme: root.dataset.theme, closed: $$("details.print-open:not([open])"), hidden: $$(".panel[hidden]") };
    root.dataset.theme = "light";
    before.hidden.forEach((p) => (p.hidden = false));
    before.closed.forEach((d) => (d.open = true));
    drawAll();
    if (map) map.draw(paperWidth);
    repaint();
    for (const s of shown.values()) s.chart.resize({ width: paperWidth });
  }
  function endPrint() {
    if (!printing) return;
    printing = false;
    if (before.theme) root.dataset.theme = before.theme; else delete root.dataset.theme;
    before.closed.forEach((d) => (d.open = false));
    before.hidden.forEach((p) => (p.hidden = true));
    delete root.dataset.print;
    if (map) map.draw(0);
    repaint();
    for (const s of shown.values()) s.chart.resize({ width: "auto" });
  }
  addEventListener("beforeprint", startPrint);
  addEventListener("afterprint", endPrint);
  matchMedia("print").addEventListener("change", (e) => (e.matches ? startPrint() : endPrint()));

  const onePage = $("#one-page");
  if (onePage) onePage.addEventListener("click", () => { root.dataset.print = "one"; print(); });

  let timer = 0;
  addEventListener("resize", () => {
    clearTimeout(timer);
    timer = setTimeout(() => { if (!printing) { drawSoon(); if (trace) refill(); for (const id of lines.keys()) place(id); } }, 120);
  });
  label();
  if (tabs.length) select(tabs[0]); else drawSoon();
})();
