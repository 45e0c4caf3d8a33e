package report

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	cdppage "github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// TestMapInBrowser opens the pages with a map from a file with the network off. Any request, error or warning fails it.
func TestMapInBrowser(t *testing.T) {
	b := browse(t)
	g, timing, r, s := grounded(t, 1)
	several, times, _, _ := grounded(t, 3)
	speeds := several.Reading.Profile
	speeds.RMSMMS = nil
	alone := &Ground{Line: several.Line, Gates: several.Gates, Runs: several.Runs, Profile: &speeds}
	run := func(w io.Writer) error { return HTML(w, r, s, HTMLOptions{Ground: g, Timing: timing}) }
	runs := func(w io.Writer) error { return TimingHTML(w, times, HTMLOptions{Ground: several}) }
	t.Run("run", func(t *testing.T) {
		v := openPage(t, b, 1280, run)
		v.until("the map and the time line are drawn", mapDrawn+` && !!document.querySelector('[data-chart=trace] svg')`)
		tryPointer(t, v)
		tryMapKeys(t, v)
		tryTraceCursor(t, v)
		tryMapFigures(t, v)
		v.picture("map-desktop")
		v.media("", &emulation.MediaFeature{Name: "prefers-color-scheme", Value: "dark"})
		v.until("colours of the map are the dark ones", `getComputedStyle(document.querySelector("#map-draw .m-end")).fill === getComputedStyle(document.body).color`)
		v.picture("map-dark")
		tryOnePage(t, v, "run")
	})
	t.Run("runs", func(t *testing.T) {
		v := openPage(t, b, 1280, runs)
		v.until("the map and the gap are drawn", mapDrawn+` && !!document.querySelector('[data-chart=gap] svg')`)
		tryGapCursor(t, v)
		tryOnePage(t, v, "runs")
	})
	t.Run("tracks alone", func(t *testing.T) {
		v := openPage(t, b, 1280, func(w io.Writer) error { return TimingHTML(w, times, HTMLOptions{Ground: alone}) })
		v.until("the map is drawn", mapDrawn)
		if n := ask[int](v, `document.querySelectorAll("#map-draw .m-badge, .coach").length`); n != 0 {
			t.Error("harsh places without a log of the fork")
		}
	})
	for name, write := range map[string]func(io.Writer) error{"run": run, "runs": runs} {
		t.Run("phone: "+name, func(t *testing.T) {
			v := openPage(t, b, 390, write)
			v.until("the map is drawn", mapDrawn)
			tryMapPhone(t, v)
			v.picture("map-phone-" + name)
		})
	}
}

const mapDrawn = `document.querySelectorAll("#map-draw svg path").length > 20 && document.querySelectorAll("#strip-draw svg rect").length > 10`

// where is what all drawings say of the place that is pointed at: [station in words, station by the ring, station by the bar of the strip, time by the
// bar of the time line, in the words].
const where = `(() => {
	const d = JSON.parse(document.querySelector("#map-data").textContent), words = document.querySelector("#place").textContent;
	const shift = (e) => { const m = e.getAttribute("transform"); return m && e.getAttribute("visibility") === "visible" ? m.match(/-?[\d.]+/g).map(Number) : [NaN, NaN]; };
	const ring = shift(document.querySelector("#map-draw .m-cursor")), bar = shift(document.querySelector("#strip-draw .s-cursor"))[0];
	// The strip is linear between its first and its last gate.
	const gates = [...document.querySelectorAll("#strip-draw .s-gate")].map((g) => +g.getAttribute("d").match(/M([\d.]+)/)[1]), at = d.marks.filter((k) => k.kind === "gate").map((k) => k.from);
	const last = gates.length - 1, strip = at[0] + (bar - gates[0]) / (gates[last] - gates[0]) * (at[last] - at[0]);
	// The map: the ends are known, and a metre is as long one way as the other.
	const c = document.querySelector("#map-draw circle.m-end"), f = document.querySelector("#map-draw rect.m-end");
	const start = [+c.getAttribute("cx"), +c.getAttribute("cy")], end = [+f.getAttribute("x") + 7, +f.getAttribute("y") + 7], n = d.x.length - 1;
	const scale = Math.hypot(end[0] - start[0], end[1] - start[1]) / Math.hypot(d.x[n] - d.x[0], d.y[n] - d.y[0]);
	let best = 0, least = Infinity;
	const upright = Math.abs((end[0] - start[0]) - (d.x[n] - d.x[0]) * scale) > 2, px = upright ? d.y.map((y) => -y) : d.x, py = upright ? d.x : d.y;
	px.forEach((x, i) => { const q = Math.hypot(start[0] + (x - px[0]) * scale - ring[0], start[1] + (py[i] - py[0]) * scale - ring[1]); if (q < least) { least = q; best = i; } });
	const el = document.querySelector("[data-chart=trace]"), line = el && el.querySelector(".cursor");
	const chart = el && echarts.getInstanceByDom(el), time = line && !line.hidden ? chart.convertFromPixel({ xAxisIndex: 0 }, parseFloat(line.style.left) + 1) : null;
	const said = words.match(/: (\d+):([\d.]+)/);
	return { said: +(words.match(/^At ([\d]+) m/) || [])[1], ring: best * d.step, off: least, strip, time, saidTime: said ? +said[1] * 60 + +said[2] : null, words };
})()`

type pointed struct {
	Said, Ring, Off, Strip float64
	Time, SaidTime         *float64
	Words                  string
}

// agree holds that map, strip, time line and words show one place.
func agree(t *testing.T, v *visit, what string) pointed {
	t.Helper()
	v.until(what+": a place is shown", `/^At \d+ m/.test(document.querySelector("#place").textContent)`)
	p := ask[pointed](v, where)
	if d := p.Ring - p.Said; d > 3 || d < -3 || p.Off > 2 {
		t.Errorf("%s: the map shows %.0f m (%.1f px beside the line), the words say %.0f", what, p.Ring, p.Off, p.Said)
	}
	if d := p.Strip - p.Said; d > 3 || d < -3 {
		t.Errorf("%s: the strip shows %.0f m, the words say %.0f", what, p.Strip, p.Said)
	}
	if p.SaidTime != nil && p.Time != nil {
		if d := *p.Time - *p.SaidTime; d > 0.4 || d < -0.4 {
			t.Errorf("%s: the time line shows %.1f s, the words say %.1f", what, *p.Time, *p.SaidTime)
		}
	}
	return p
}

// mouseOver moves the mouse over a share of an element's width and height.
func mouseOver(v *visit, selector string, x, y float64) {
	v.t.Helper()
	v.do(chromedp.Evaluate[chromedp.Void](fmt.Sprintf(`document.querySelector(%q).scrollIntoView({ block: "center" })`, selector)))
	at := ask[[2]float64](v, fmt.Sprintf(`(() => { const b = document.querySelector(%q).getBoundingClientRect(); return [b.left + b.width * %g, b.top + b.height * %g]; })()`, selector, x, y))
	v.do(chromedp.MouseEvent(chromedp.MouseMoved, at[0], at[1]))
}

func tryPointer(t *testing.T, v *visit) {
	mouseOver(v, "#strip-draw", 0.5, 0.4)
	half := agree(t, v, "mouse on the strip")
	if half.Said < 250 || half.Said > 350 {
		t.Errorf("the middle of the strip is %.0f m of 600", half.Said)
	}
	if half.Time == nil {
		t.Error("the time line shows no place")
	}
	mouseOver(v, "#map-draw", 0.2, 0.5)
	v.until("the mouse on the map moves the place", fmt.Sprintf(`document.querySelector("#place").textContent !== %q`, half.Words))
	if p := agree(t, v, "mouse on the map"); p.Said > 300 {
		t.Errorf("the left of the map is %.0f m of 600", p.Said)
	}
	mouseOver(v, `[data-chart=trace]`, 0.75, 0.2)
	v.until("the mouse on the time line moves the place", `+document.querySelector("#place").textContent.match(/^At (\d+)/)[1] > 350`)
	agree(t, v, "mouse on the time line")
}

func tryMapKeys(t *testing.T, v *visit) {
	focus := func(sel string) {
		v.do(chromedp.Evaluate[chromedp.Void](fmt.Sprintf("document.querySelector(%q).focus()", sel)))
	}
	focus("#map-draw")
	v.do(chromedp.KeyEvent(kb.Home))
	v.until("Home goes to the start", `document.querySelector("#place").textContent.startsWith("At 0 m")`)
	for range 6 {
		v.do(chromedp.KeyEvent(kb.ArrowRight))
	}
	near := agree(t, v, "arrow keys on the map").Said
	if near <= 0 || near > 60 {
		t.Errorf("six arrow keys from the start lead to %.0f m", near)
	}
	v.do(chromedp.KeyEvent(kb.PageDown))
	v.until("Page Down goes to the next mark", fmt.Sprintf(`+document.querySelector("#place").textContent.match(/^At (\d+)/)[1] > %g`, near))
	p := agree(t, v, "Page Down")
	if len(p.Words) < 60 {
		t.Errorf("a mark is not told: %s", p.Words)
	}
	focus("#strip-draw")
	v.do(chromedp.KeyEvent(kb.End))
	v.until("End goes to the finish", `document.querySelector("#place").textContent.startsWith("At 600 m")`)
	agree(t, v, "End on the strip")
	for _, sel := range []string{"#map-draw", "#strip-draw"} {
		if got := ask[string](v, fmt.Sprintf(`(() => { const e = document.querySelector(%q); return e.getAttribute("role") + e.getAttribute("aria-valuenow") + (e.getAttribute("aria-valuetext") || "").slice(0, 8); })()`, sel)); got != "slider600At 600 m" {
			t.Errorf("%s says %q to those who hear the page", sel, got)
		}
	}
	// A link in the list leads to its place.
	v.do(chromedp.Evaluate[chromedp.Void](`document.querySelector(".coach a[data-m]").click()`))
	v.until("a link leads to its place", `Math.abs(+document.querySelector("#place").textContent.match(/^At (\d+)/)[1] - +document.querySelector(".coach a[data-m]").dataset.m) <= 1`)
	agree(t, v, "a link")
}

// tryTraceCursor moves the place by keys on the time line, also where it is zoomed in.
func tryTraceCursor(t *testing.T, v *visit) {
	v.do(chromedp.Evaluate[chromedp.Void](`document.querySelector("[data-chart=trace]").focus()`))
	for range 3 {
		v.do(chromedp.KeyEvent("+"))
	}
	before := agree(t, v, "zoomed in")
	for range 5 {
		v.do(chromedp.KeyEvent(kb.ArrowRight, chromedp.KeyModifiers(chromedp.ModifierShift)))
	}
	v.until("Shift and arrow move the place", fmt.Sprintf(`document.querySelector("#place").textContent !== %q`, before.Words))
	p := agree(t, v, "Shift and arrow on the time line")
	if p.Time == nil || before.SaidTime == nil || *p.Time <= *before.SaidTime {
		t.Errorf("from %v the place went to %v s", before.SaidTime, p.Time)
	}
	v.do(chromedp.KeyEvent(kb.Home))
}

func tryMapFigures(t *testing.T, v *visit) {
	for i := range ask[int](v, `document.querySelectorAll("[data-map-figure]").length`) {
		v.do(chromedp.Evaluate[chromedp.Void](fmt.Sprintf("document.querySelectorAll('[data-map-figure]')[%d].focus()", i)), chromedp.KeyEvent(kb.Enter))
		v.until("the figure is chosen and its classes are named", fmt.Sprintf(`document.querySelectorAll("#map-classes li").length === 6 && document.querySelectorAll('[data-map-figure]')[%d].getAttribute("aria-pressed") === "true"`, i))
		if n := ask[int](v, `new Set([...document.querySelectorAll("#map-draw .m-line")].map((p) => getComputedStyle(p).stroke + p.getAttribute("stroke-width"))).size`); n < 2 {
			t.Errorf("figure %d is drawn in %d classes", i, n)
		}
	}
	if odd := ask[string](v, `(document.querySelector("#map").innerHTML.match(/NaN|Infinity|undefined/) || [""])[0]`); odd != "" {
		t.Errorf("the map holds %s", odd)
	}
}

// tryGapCursor holds that the gap over distance follows.
func tryGapCursor(t *testing.T, v *visit) {
	mouseOver(v, "#strip-draw", 0.5, 0.4)
	p := agree(t, v, "mouse on the strip")
	got := ask[float64](v, `(() => { const el = document.querySelector("[data-chart=gap]"), l = el.querySelector(".cursor"); return l.hidden ? -1 : echarts.getInstanceByDom(el).convertFromPixel({ xAxisIndex: 0 }, parseFloat(l.style.left) + 1); })()`)
	if got < p.Said-3 || got > p.Said+3 {
		t.Errorf("the gap shows %.0f m, the words say %.0f", got, p.Said)
	}
	mouseOver(v, "[data-chart=gap]", 0.8, 0.4)
	v.until("the mouse on the gap moves the place", fmt.Sprintf(`document.querySelector("#place").textContent !== %q`, p.Words))
	agree(t, v, "mouse on the gap")
}

// tryMapPhone holds that nothing of the drawings is cut or too small, and that a finger can scroll past them.
func tryMapPhone(t *testing.T, v *visit) {
	if w := ask[int](v, `document.documentElement.scrollWidth`); w > 390 {
		t.Errorf("the page is %d px wide on a screen of 390", w)
	}
	cut := ask[string](v, `[...document.querySelectorAll(".ground svg")].flatMap((s) => { const b = s.getBoundingClientRect(); return [...s.querySelectorAll("text, rect, circle")].filter((e) => { const r = e.getBoundingClientRect(); return r.width && (r.left < b.left - 1 || r.right > b.right + 1 || r.top < b.top - 1 || r.bottom > b.bottom + 1) && !e.closest("[visibility=hidden]"); }).map((e) => e.tagName + " " + e.textContent); }).join("; ")`)
	if cut != "" {
		t.Errorf("cut off: %s", cut)
	}
	small := ask[string](v, `[...document.querySelectorAll(".ground text")].filter((e) => parseFloat(getComputedStyle(e).fontSize) < 11).map((e) => e.textContent).join("; ")`)
	if small != "" {
		t.Errorf("words under 11 px: %s", small)
	}
	if got := ask[string](v, `[...document.querySelectorAll(".ground")].map((e) => getComputedStyle(e).touchAction).join()`); got != "pan-y,pan-y" {
		t.Errorf("a finger cannot scroll past the drawings: touch-action is %s", got)
	}
	over := ask[string](v, `(() => { const t = [...document.querySelectorAll("#map-draw text")].map((e) => [e.textContent, e.getBoundingClientRect()]); const out = []; t.forEach(([a, p], i) => t.slice(i + 1).forEach(([b, q]) => { if (Math.min(p.right, q.right) - Math.max(p.left, q.left) > 2 && Math.min(p.bottom, q.bottom) - Math.max(p.top, q.top) > 3) out.push(a + " / " + b); })); return out.join("; "); })()`)
	if over != "" {
		t.Errorf("words lie on one another: %s", over)
	}
	v.do(chromedp.Evaluate[chromedp.Void](`document.querySelector("#map-draw").scrollIntoView({ block: "center" })`))
	v.do(chromedp.Evaluate[chromedp.Void](`(() => { const e = document.querySelector("#map-draw"), b = e.getBoundingClientRect(); e.dispatchEvent(new PointerEvent("pointerdown", { clientX: b.left + b.width / 2, clientY: b.top + b.height / 2, pointerType: "touch", bubbles: true })); })()`))
	agree(t, v, "a tap")
}

// tryOnePage prints the summary and counts its pages.
func tryOnePage(t *testing.T, v *visit, name string) {
	v.media("")
	v.do(chromedp.Evaluate[chromedp.Void](`window.print = () => {}; document.querySelector("#one-page").click()`))
	v.size(720, 1000)
	yes := true
	pdf, err := chromedp.Call(v.ctx, cdppage.PrintToPDF, cdppage.PrintToPDFParams{PaperWidth: 8.27, PaperHeight: 11.69, PreferCSSPageSize: &yes, PrintBackground: &yes})
	if err != nil {
		t.Fatal(err)
	}
	if n := len(regexp.MustCompile(`/Type\s*/Page[^s]`).FindAll(pdf.Data, -1)); n != 1 {
		t.Errorf("%s: the summary takes %d pages", name, n)
	}
	if dir := os.Getenv("PICTURES"); dir != "" {
		if err := os.WriteFile(filepath.Join(dir, "map-"+name+".pdf"), pdf.Data, 0o644); err != nil {
			t.Fatal(err)
		}
	}
}
