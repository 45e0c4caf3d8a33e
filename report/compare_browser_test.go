package report

import (
	"context"
	"fmt"
	"io"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"stanchion/analyze/compare"
)

// TestStudiesInBrowser opens the pages of a comparison and of a sweep from a file with the network off. Any request, error or
// warning fails it.
func TestStudiesInBrowser(t *testing.T) {
	b := browse(t)
	c, s := compared(t, 3, nil)
	one, single := compared(t, 1, nil)
	sweeps := []*compare.SweepResult{swept(t, "rebound", compare.Rebound), swept(t, "hsc", compare.HighSpeedCompression)}
	for _, page := range []struct {
		name   string
		charts int
		write  func(io.Writer) error
	}{
		{"compare", 4, func(w io.Writer) error { return CompareHTML(w, c, s, HTMLOptions{}) }},
		{"one-run", 4, func(w io.Writer) error { return CompareHTML(w, one, single, HTMLOptions{}) }},
		{"sweep", 3, func(w io.Writer) error { return SweepHTML(w, sweeps, HTMLOptions{}) }},
	} {
		t.Run(page.name, func(t *testing.T) {
			desk := openPage(t, b, 1280, page.write)
			tryStudyCharts(t, desk, page.charts)
			desk.picture(page.name + "-desktop")
			tryStudyFolds(t, desk)
			if page.name == "one-run" {
				return // the rest is as with more runs
			}
			tryStudyViews(desk)
			tryStudyDark(t, desk)
			desk.picture(page.name + "-dark")
			tryStudyPrint(desk)
			phone := openPage(t, b, 390, page.write)
			tryStudyPhone(t, phone)
			phone.picture(page.name + "-phone")
		})
	}
	t.Run("names are text", func(t *testing.T) { tryNastyStudies(t, b) })
	t.Run("without scripts", func(t *testing.T) {
		v := openPage(t, b, 1280, func(w io.Writer) error { return CompareHTML(w, c, s, HTMLOptions{}) })
		call(v, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true})
		v.do(chromedp.Reload())
		if n := ask[int](v, `[...document.querySelectorAll("button, [data-chart]")].filter((e) => e.offsetHeight > 0).length`); n != 0 {
			t.Errorf("%d buttons and drawings that need a script are shown without", n)
		}
	})
}

func tryStudyCharts(t *testing.T, v *visit, least int) {
	v.until("every chart is drawn", drawnCharts+` === ""`)
	if n := ask[int](v, `[...document.querySelectorAll("[data-chart] svg")].length`); n < least {
		t.Errorf("only %d charts, want %d", n, least)
	}
	if odd := ask[string](v, `(document.querySelector("main").innerHTML.match(/NaN|Infinity|undefined/) || [""])[0]`); odd != "" {
		t.Errorf("the page draws %s", odd)
	}
	if wide := ask[string](v, `[...document.querySelectorAll(".box")].filter((b) => b.scrollWidth > b.clientWidth + 1).map((b) => b.getAttribute("aria-label")).join("; ")`); wide != "" {
		t.Errorf("tables that do not fit a desktop: %s", wide)
	}
	if nameless := ask[int](v, `[...document.querySelectorAll("[data-chart]")].filter((e) => !(e.getAttribute("aria-label") || "").match(/chart|plot|map/)).length`); nameless != 0 {
		t.Errorf("%d charts without an accessible name", nameless)
	}
}

// tryStudyViews chooses every view of every chart, by keyboard.
// tryStudyFolds holds that what is folded is drawn once it is opened, and leaves all folds open.
func tryStudyFolds(t *testing.T, v *visit) {
	const drawings = `[...document.querySelectorAll("[data-chart]")].filter((e) => e.querySelector("svg")).length`
	hidden := ask[int](v, `[...document.querySelectorAll("details.fold [data-chart]")].length`)
	before := ask[int](v, drawings)
	if n := ask[int](v, `document.querySelectorAll("details.fold [data-chart] svg").length`); n != 0 {
		t.Errorf("%d charts are drawn in closed folds", n)
	}
	for i := range ask[int](v, `document.querySelectorAll("details.fold").length`) {
		v.do(chromedp.Evaluate[chromedp.Void](fmt.Sprintf("document.querySelectorAll('details.fold > summary')[%d].focus()", i)), chromedp.KeyEvent(kb.Enter))
	}
	v.until("folded charts are drawn when opened", fmt.Sprintf("%s === %d", drawings, before+hidden))
	v.until("none of them is empty", drawnCharts+` === ""`)
}

func tryStudyViews(v *visit) {
	for i := range ask[int](v, `document.querySelectorAll("[data-chart-view]").length`) {
		v.do(chromedp.Evaluate[chromedp.Void](fmt.Sprintf("document.querySelectorAll('[data-chart-view]')[%d].focus()", i)), chromedp.KeyEvent(kb.Enter))
		v.until("the view is drawn", drawnCharts+` === ""`)
	}
	// Hover text is words with a unit.
	v.until("a hover shows words", `(() => {
		for (const el of document.querySelectorAll("[data-chart]")) {
			const c = echarts.getInstanceByDom(el), o = c.getOption();
			const i = o.series.findIndex((s) => s.data && s.data.length && s.data.some((d) => d && d.name));
			if (i < 0) return false;
			const k = o.series[i].data.findIndex((d) => d && d.name);
			c.dispatchAction({ type: "showTip", seriesIndex: i, dataIndex: k });
		}
		const tips = [...document.querySelectorAll(".tip")];
		return tips.length > 0 && tips.every((t) => /[a-z]/i.test(t.textContent) && !/undefined|NaN/.test(t.textContent));
	})()`)
}

func tryStudyDark(t *testing.T, v *visit) {
	paper := func() string { return ask[string](v, `getComputedStyle(document.body).backgroundColor`) }
	light := paper()
	v.media("", &emulation.MediaFeature{Name: "prefers-color-scheme", Value: "dark"})
	v.until("a dark system turns the page dark", `getComputedStyle(document.body).backgroundColor !== "`+light+`"`)
	v.until("every chart is drawn in the dark", drawnCharts+` === ""`)
	if left := ask[string](v, `(document.querySelector("main").innerHTML.match(/="@[a-z0-9-]+"/) || [""])[0]`); left != "" {
		t.Errorf("a colour has no value in the style sheet: %s", left)
	}
}

func tryStudyPrint(v *visit) {
	v.size(720, 1000)
	v.media("print")
	v.until("print draws every chart", drawnCharts+` === ""`)
	v.until("drawings fit the paper", `[...document.querySelectorAll("[data-chart] svg")].every((s) => s.clientWidth <= 690)`)
	v.media("screen")
}

func tryStudyPhone(t *testing.T, v *visit) {
	v.until("every chart is drawn on a phone", drawnCharts+` === ""`)
	if w := ask[int](v, `document.documentElement.scrollWidth`); w > 390 {
		t.Errorf("the page is %d px wide on a screen of 390", w)
	}
	if small := ask[string](v, `[...document.querySelectorAll("button, summary, nav a")].filter((e) => e.offsetParent && (e.offsetHeight < 44 || e.offsetWidth < 44)).map((e) => e.textContent.trim() + " " + e.offsetWidth + "×" + e.offsetHeight).join("; ")`); small != "" {
		t.Errorf("touch targets under 44 px: %s", small)
	}
}

func tryNastyStudies(t *testing.T, b context.Context) {
	c, s := compared(t, 2, func(a, b []compare.Run) { a[0].Name = nasty })
	s.NameB = nasty
	r := swept(t, nasty, compare.Rebound)
	for _, write := range []func(io.Writer) error{
		func(w io.Writer) error { return CompareHTML(w, c, s, HTMLOptions{Version: nasty}) },
		func(w io.Writer) error {
			return SweepHTML(w, []*compare.SweepResult{r}, HTMLOptions{Version: nasty})
		},
	} {
		v := openPage(t, b, 1280, write)
		v.until("every chart is drawn", drawnCharts+` === ""`)
		if n := ask[int](v, `document.querySelectorAll("img").length`); n != 0 {
			t.Error("a name was read as markup")
		}
		if got := ask[string](v, `document.querySelector("h1").textContent`); !strings.Contains(got, nasty) {
			t.Errorf("heading is %q", got)
		}
	}
}
