package report

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"stanchion/analyze"
)

// css marks a selector.
type css = chromedp.CSS

// TestPageInBrowser opens the page from a file with the network off. Any request, error or warning fails it.
func TestPageInBrowser(t *testing.T) {
	b := browse(t)
	for _, c := range []struct {
		name string
		try  func(*testing.T, context.Context)
	}{
		{"every chart is drawn", tryCharts},
		{"bars on log axes", tryLogBars},
		{"labels keep apart", tryLabels},
		{"a link moves the time line and the focus", tryLinks},
		{"tabs by keyboard", tryTabs},
		{"phone", tryPhone},
		{"dark", tryDark},
		{"print", tryPrint},
		{"names are text", tryNastyNames},
		{"without scripts", tryWithoutScripts},
	} {
		t.Run(c.name, func(t *testing.T) { c.try(t, b) })
	}
}

// drawnCharts names the charts in view that hold no data or no shapes.
const drawnCharts = `(() => {
  const bad = [];
  for (const el of document.querySelectorAll("[data-chart]")) {
    if (!el.clientWidth || el.closest("details:not([open])")) continue;
    const c = echarts.getInstanceByDom(el);
    if (!c) { bad.push(el.dataset.chart + ": not drawn"); continue; }
    const data = c.getOption().series.some((s) => s.data && s.data.length);
    const shapes = el.querySelectorAll("svg path, svg circle, svg rect").length;
    if (!data || shapes < 5) bad.push(el.dataset.chart + ": empty");
  }
  return bad.join("; ");
})()`

func tryCharts(t *testing.T, b context.Context) {
	v := open(t, b, usual(), HTMLOptions{}, 1280)
	seen := 0
	for _, tab := range []string{"racer", "tuner", "coach"} {
		v.do(chromedp.Click(css("#tab-"+tab)), chromedp.WaitVisible(css("#panel-"+tab)))
		v.until("every chart of the "+tab+" is drawn", drawnCharts+` === ""`)
		if wide := ask[string](v, `[...document.querySelectorAll(".box")].filter((b) => b.scrollWidth > b.clientWidth + 1).map((b) => b.getAttribute("aria-label")).join("; ")`); wide != "" {
			t.Errorf("%s: tables that do not fit a desktop: %s", tab, wide)
		}
		seen += ask[int](v, `[...document.querySelectorAll("[data-chart]")].filter((e) => e.clientWidth).length`)
		v.picture("desktop-" + tab)
	}
	drawn := ask[[]float64](v, `(() => { const d = echarts.getInstanceByDom(document.querySelector('[data-chart=trace]')).getOption().series[0].data.map((p) => p[1]);
		return [Math.min(...d), Math.max(...d)]; })()`)
	_, s := usual().run(t)
	if lo, hi := slices.Min(s.Segments[0].TravelMM), slices.Max(s.Segments[0].TravelMM); math.Abs(drawn[0]-lo) > 0.02 || math.Abs(drawn[1]-hi) > 0.02 {
		t.Errorf("the time line draws travel from %.2f to %.2f mm, the signal runs from %.2f to %.2f mm", drawn[0], drawn[1], lo, hi)
	}
	if seen < 3+9 { // the time line thrice and the tuner's nine
		t.Errorf("only %d charts were visible over the three readings", seen)
	}
}

// Thirty harsh sections on a phone: labels that would lie on one another are left out, the harshest keeps its own, and
// zooming in brings the others back.
func tryLabels(t *testing.T, b context.Context) {
	d := usual()
	d.tweak = func(r *analyze.Result) {
		r.Rough.Sections = r.Rough.Sections[:0]
		for i := range 30 {
			at := float64(10 + (i*7)%30*3)
			r.Rough.Sections = append(r.Rough.Sections, analyze.HarshSection{StartS: at, EndS: at + 2, Causes: []string{analyze.CauseRough}})
		}
	}
	v := open(t, b, d, HTMLOptions{}, 390)
	v.until("the time line is drawn", `!!document.querySelector("[data-chart=trace] svg")`)
	const shown = `echarts.getInstanceByDom(document.querySelector('[data-chart=trace]')).getOption().series[0].markArea.data.filter(([a]) => a.label.show !== false && a.label.position === "top")`
	if n := ask[int](v, shown+".length"); n < 3 || n > 18 {
		t.Errorf("%d of 30 labels are shown on a phone", n)
	}
	if first := ask[string](v, shown+"[0][0].name"); first != "1" {
		t.Errorf("the first label shown is %q, want the harshest", first)
	}
	v.do(chromedp.Focus(css("[data-chart=trace]")))
	for range 4 {
		v.do(chromedp.KeyEvent("+"))
	}
	span := ask[[]float64](v, `(() => { const z = echarts.getInstanceByDom(document.querySelector('[data-chart=trace]')).getOption().dataZoom[0]; return [z.startValue, z.endValue]; })()`)
	inView := ask[int](v, fmt.Sprintf(`%s.filter(([a, b]) => b.xAxis > %g && a.xAxis < %g).length`, shown, span[0], span[1]))
	want := 0
	for i := range 30 {
		if at := float64(10 + (i*7)%30*3); at+2 > span[0] && at < span[1] {
			want++
		}
	}
	if want == 0 || inView != want {
		t.Errorf("zoomed to %.1f–%.1f s, %d of %d labels are shown", span[0], span[1], inView, want)
	}
}

// Whole numbers only, and empty bins among them, made the lower end of a log axis zero.
func tryLogBars(t *testing.T, b context.Context) {
	d := usual()
	d.tweak = func(r *analyze.Result) {
		for i := range r.Strokes.Rainflow {
			r.Strokes.Rainflow[i].Count = math.Floor(r.Strokes.Rainflow[i].Count)
		}
		for i, s := range r.Velocity.TimeShare {
			r.Velocity.TimeShare[i] = math.Floor(100*s) / 100
		}
	}
	v := open(t, b, d, HTMLOptions{}, 1280)
	v.do(chromedp.Click(css("#tab-tuner")), chromedp.WaitVisible(css("#panel-tuner")))
	v.until("every chart is drawn", drawnCharts+` === ""`)
	v.until("the log scale is chosen", `[...document.querySelectorAll("#panel-tuner button")].some((b) => b.textContent.includes("log scale") && (b.click(), true))`)
	v.until("no mark lies at infinity", `!/Infinity|NaN/.test([...document.querySelectorAll("[data-chart]")].map((e) => e.innerHTML).join(""))`)
}

func tryLinks(t *testing.T, b context.Context) {
	v := open(t, b, usual(), HTMLOptions{}, 1280)
	v.do(chromedp.Click(css("#tab-coach")))
	v.do(chromedp.Focus(css(`#panel-coach a.go`)), chromedp.KeyEvent(kb.Enter))
	got := ask[[]float64](v, `(() => { const a = document.querySelector("#panel-coach a.go"), z = echarts.getInstanceByDom(document.querySelector('[data-chart=trace]')).getOption().dataZoom[0];
		return [+a.dataset.from, +a.dataset.to, z.startValue, z.endValue]; })()`)
	if got[2] > got[0] || got[3] < got[1] || got[3]-got[2] > 2*(got[1]-got[0])+2 {
		t.Errorf("asked for %.2f to %.2f s, the time line shows %.2f to %.2f s", got[0], got[1], got[2], got[3])
	}
	if id := ask[string](v, `document.activeElement.id`); id != "timeline-status" {
		t.Errorf("focus is on %q, want the line that says what is shown", id)
	}
	if s := ask[string](v, `document.activeElement.textContent`); !strings.Contains(s, "section 1") {
		t.Errorf("the line says %q, want the section's name", s)
	}
	if odd := ask[string](v, `(() => { const a = echarts.getInstanceByDom(document.querySelector('[data-chart=trace]')).getModel().getComponent("xAxis", 2), step = a.get("maxInterval");
		const ticks = a.axis.scale.getTicks().map((t) => t.value).slice(1, -1);
		return ticks.length ? ticks.filter((t) => Math.abs(t / step - Math.round(t / step)) > 1e-6).join() : "no ticks"; })()`); odd != "" {
		t.Errorf("ticks of the time axis off round times: %s", odd)
	}
	v.picture("zoomed")
	v.do(chromedp.Click(css("#go-back")))
	if !ask[bool](v, `document.activeElement === document.querySelector("#panel-coach a.go")`) {
		t.Error("going back does not return the focus to the link")
	}
	v.do(chromedp.Focus(css(`[data-chart=trace]`)), chromedp.KeyEvent(kb.Home))
	if w := ask[float64](v, `(() => { const z = echarts.getInstanceByDom(document.querySelector('[data-chart=trace]')).getOption().dataZoom[0]; return z.endValue - z.startValue; })()`); w < usual().seconds-0.1 {
		t.Errorf("Home shows %.1f s, want the whole run", w)
	}
}

func tryTabs(t *testing.T, b context.Context) {
	v := open(t, b, usual(), HTMLOptions{}, 1280)
	for _, step := range []struct{ key, want string }{
		{kb.ArrowRight, "tuner"}, {kb.ArrowRight, "coach"}, {kb.ArrowRight, "racer"}, {kb.End, "coach"}, {kb.ArrowLeft, "tuner"}, {kb.Home, "racer"},
	} {
		v.do(chromedp.Focus(css(`[role=tab][aria-selected=true]`)), chromedp.KeyEvent(step.key))
		got := ask[string](v, `[...document.querySelectorAll("[role=tabpanel]")].filter((p) => !p.hidden).map((p) => p.id).join()`)
		if got != "panel-"+step.want || ask[string](v, `document.activeElement.id`) != "tab-"+step.want {
			t.Errorf("after the key the panel shown is %s, want that of %s with its tab in focus", got, step.want)
		}
	}
}

func tryPhone(t *testing.T, b context.Context) {
	v := open(t, b, usual(), HTMLOptions{}, 390)
	for _, tab := range []string{"racer", "tuner", "coach"} {
		v.do(chromedp.Click(css("#tab-"+tab)), chromedp.WaitVisible(css("#panel-"+tab)))
		if w := ask[int](v, `document.documentElement.scrollWidth`); w > 390 {
			t.Errorf("%s: the page is %d px wide on a screen of 390", tab, w)
		}
		if small := ask[string](v, `[...document.querySelectorAll("button, a.go, summary, nav a")].filter((e) => e.offsetParent && (e.offsetHeight < 44 || e.offsetWidth < 44)).map((e) => e.textContent.trim() + " " + e.offsetWidth + "×" + e.offsetHeight).join("; ")`); small != "" {
			t.Errorf("%s: touch targets under 44 px: %s", tab, small)
		}
		v.picture("phone-" + tab)
	}
}

func tryDark(t *testing.T, b context.Context) {
	v := open(t, b, usual(), HTMLOptions{}, 1280)
	paper := func() string { return ask[string](v, `getComputedStyle(document.body).backgroundColor`) }
	ink := func() string {
		return ask[string](v, `echarts.getInstanceByDom(document.querySelector('[data-chart=trace]')).getOption().series[0].lineStyle.color`)
	}
	lightPaper, lightInk := paper(), ink()
	v.media("", &emulation.MediaFeature{Name: "prefers-color-scheme", Value: "dark"})
	v.until("a dark system turns the drawings dark", `echarts.getInstanceByDom(document.querySelector('[data-chart=trace]')).getOption().series[0].lineStyle.color !== "`+lightInk+`"`)
	if paper() == lightPaper {
		t.Error("a dark system leaves the page light")
	}
	v.do(chromedp.Click(css("#tab-tuner")))
	v.picture("dark")
	v.do(chromedp.Click(css("#theme")))
	if paper() != lightPaper || ink() != lightInk {
		t.Error("the button does not turn a dark page light")
	}
}

const visiblePanels = `[...document.querySelectorAll("[role=tabpanel]")].filter((p) => p.offsetHeight > 0).length`

func tryPrint(t *testing.T, b context.Context) {
	v := open(t, b, usual(), HTMLOptions{}, 1280)
	v.size(720, 1000)
	v.media("print")
	v.until("print shows every reading", visiblePanels+" === 3")
	v.until("print draws every chart", drawnCharts+` === ""`)
	v.until("drawings fit the paper", `[...document.querySelectorAll("[data-chart] svg")].every((s) => s.clientWidth <= 690)`)
	v.picture("print")
	v.media("screen")
	v.until("after print one reading is shown", visiblePanels+" === 1")
}

func tryNastyNames(t *testing.T, b context.Context) {
	d := usual()
	d.source, d.fork, d.markers[0].Label = nasty, nasty, nasty
	v := open(t, b, d, HTMLOptions{Title: nasty, Version: nasty}, 1280)
	if title := ask[string](v, `document.title`); !strings.HasPrefix(title, nasty) {
		t.Errorf("title is %q", title)
	}
	if n := ask[int](v, `document.querySelectorAll("img").length`); n != 0 {
		t.Error("a name was read as markup")
	}
	if got := ask[string](v, `document.querySelector("h1").textContent`); got != nasty {
		t.Errorf("heading is %q", got)
	}
}

func tryWithoutScripts(t *testing.T, b context.Context) {
	v := open(t, b, usual(), HTMLOptions{}, 1280)
	call(v, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true})
	v.do(chromedp.Reload())
	if n := ask[int](v, visiblePanels); n != 3 {
		t.Errorf("%d readings are shown without scripts, want 3", n)
	}
	if n := ask[int](v, `[...document.querySelectorAll("button, [data-chart]")].filter((e) => e.offsetHeight > 0).length`); n != 0 {
		t.Errorf("%d buttons and drawings that need a script are shown without", n)
	}
}
