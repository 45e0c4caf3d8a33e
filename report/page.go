package report

import (
	"bufio"
	"crypto/sha256"
	_ "embed" // the page's parts are built in, so that it works offline
	"encoding/base64"
	"encoding/json"
	"fmt"
	"html/template"
	"io"
	"slices"

	"stanchion/analyze"
	"stanchion/analyze/advice"
	"stanchion/analyze/trail"
)

var (
	//go:embed assets/page.gohtml
	pageTemplate string
	//go:embed assets/sheet.css
	sheetCSS string
	//go:embed assets/dark.css
	darkCSS string
	//go:embed assets/page.js
	pageJS string
	//go:embed assets/trail.gohtml
	trailTemplate string
	//go:embed assets/trail.css
	trailCSS string
	//go:embed assets/map.js
	mapJS string
	//go:embed assets/echarts.min.js
	echartsJS string
)

// HTMLOptions are about the page as a whole.
type HTMLOptions struct {
	Title   string // heading; the name of the source where empty
	Version string // of the program, for the foot of the page; may be empty
	// Ground is where the run was ridden, nil where that is not known. Timing of its gates may go with it.
	Ground *Ground
	Timing *trail.Timing
	// Advice is what to change next; of the page of a run alone, nil leaves it out.
	Advice *advice.Advice
}

// page is all that the template needs.
type page struct {
	Title, Fork, Version, Policy string
	Style                        template.CSS
	Verdict                      verdict
	Next                         *nextPanel
	Glance                       []glanceRow
	Ruler                        ruler
	Map                          *mapView // nil where the run has no track, as are the next three
	Splits                       *part
	Coach                        *coachView
	Ground                       []fold
	Trace                        *chart
	Legend                       []legendEntry
	Readings                     []reading
	Caveats                      []analyze.Caveat
	Understood                   []string
	Quality                      []figureRow
	QualityTables                []table
	Absent                       table
	Method                       []table
	Schema                       int
}

type legendEntry struct{ Kind, Text string }

// HTML writes the page of one run: a single file that loads nothing. signals may be nil; then there is no time line.
// The same input gives the same bytes.
func HTML(w io.Writer, r *analyze.Result, signals *analyze.Signals, opt HTMLOptions) error {
	if err := checkFinite(r); err != nil {
		return err
	}
	if signals == nil {
		signals = &analyze.Signals{}
	}
	p, err := newPage(r, signals, opt)
	if err != nil {
		return fmt.Errorf("page: %w", err)
	}
	t, err := templates()
	if err != nil {
		return err
	}
	out := bufio.NewWriterSize(w, 1<<16)
	if err := t.ExecuteTemplate(out, "page", p); err != nil {
		return fmt.Errorf("page: %w", err)
	}
	if err := writeScripts(out, p, r, signals); err != nil {
		return fmt.Errorf("page: %w", err)
	}
	io.WriteString(out, "</body>\n</html>\n")
	if err := out.Flush(); err != nil {
		return fmt.Errorf("page: %w", err)
	}
	return nil
}

func newPage(r *analyze.Result, s *analyze.Signals, opt HTMLOptions) (*page, error) {
	trace, err := traceChart(r, s)
	if err != nil {
		return nil, err
	}
	read, err := readings(r)
	if err != nil {
		return nil, err
	}
	title := opt.Title
	if title == "" {
		title = runName(r.Source)
	}
	p := &page{
		Title: title, Fork: forkName(r), Version: opt.Version, Map: newMap(opt.Ground), Style: template.CSS(style()),
		Verdict: judge(r), Next: nextOf(opt.Advice), Glance: glance(r), Ruler: drawRuler(r), Trace: trace, Legend: traceLegend(r), Readings: read,
		Caveats: r.Caveats, Understood: r.Understood, Quality: qualityFigures(r), QualityTables: gapTables(r),
		Absent: absentFigures(r), Method: methodTables(r), Schema: r.SchemaVersion,
	}
	p.Policy = policy(p.Map != nil)
	if p.Map != nil {
		for i := range p.Legend {
			if p.Legend[i].Kind == "harsh" {
				p.Legend[i].Text = "harsh section in time, by rank (the map ranks places along the trail)"
			}
		}
		p.Coach = newCoach(opt.Ground)
		if p.Coach != nil {
			p.Ground, p.Caveats = groundParts(opt.Ground), append(slices.Clone(r.Caveats), groundNotes(opt.Ground)...)
		}
		if opt.Timing != nil {
			splits := splitsPart(opt.Timing)
			p.Splits = &splits
		}
	}
	return p, nil
}

// templates are those of all pages.
func templates() (*template.Template, error) {
	t := template.New("page")
	for _, text := range []string{pageTemplate, trailTemplate, studyTemplate} {
		if _, err := t.Parse(text); err != nil {
			return nil, fmt.Errorf("page: %w", err)
		}
	}
	return t, nil
}

// style joins the sheet with its dark colours, for readers whose system is dark and for those who chose it. Print is
// always light.
func style() string {
	return sheetCSS + trailCSS + "@media screen and (prefers-color-scheme: dark) { :root:not([data-theme=light]) {\n" + darkCSS +
		"} }\n@media screen { :root[data-theme=dark] {\n" + darkCSS + "} }\n"
}

// policy allows the page's own scripts by their digest and nothing from elsewhere. Inline styles are needed by the
// charts.
func policy(withMap bool) string {
	s := "default-src 'none'; script-src"
	for _, script := range program(withMap) {
		s += " " + digest(script)
	}
	return s + "; style-src 'unsafe-inline'; img-src data: blob:; base-uri 'none'; form-action 'none'"
}

func digest(script string) string {
	sum := sha256.Sum256([]byte(script))
	return "'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'"
}

// traceLegend says what the marks of the time line mean, for those that occur.
func traceLegend(r *analyze.Result) []legendEntry {
	var l []legendEntry
	if len(r.Rough.Sections) > 0 {
		l = append(l, legendEntry{"harsh", "harsh section, numbered by rank"})
	}
	for _, a := range r.Air.Spells {
		if a.Jump {
			l = append(l, legendEntry{"jump", "J: likely jump"})
			break
		}
	}
	if len(r.Travel.Bottoms) > 0 {
		l = append(l, legendEntry{"bottom", "bottom-out"})
		if hardest(r.Travel.Bottoms).Hard {
			l = append(l, legendEntry{"bottom-hard", "hard bottom-out"})
		}
	}
	if v, ok := r.Sag.StaticMM.Get(); ok {
		l = append(l, legendEntry{"sag", "static sag, " + mm(v)})
	} else if v, ok := r.Sag.DynamicMM.Get(); ok {
		l = append(l, legendEntry{"sag", "median while riding, " + mm(v)})
	}
	l = append(l, legendEntry{"full", "full travel, " + mm(r.Fork.TravelMM)})
	if len(r.Markers) > 0 {
		l = append(l, legendEntry{"marker", "rider's marker"})
	}
	return l
}

// writeScripts writes the data and the scripts after the page's content. Data is JSON in which < is escaped, so that no
// text of the user can end the element.
func writeScripts(out *bufio.Writer, p *page, r *analyze.Result, s *analyze.Signals) error {
	views := map[string][]view{}
	for _, c := range p.charts() {
		views[c.ID] = c.Views
	}
	b, err := json.Marshal(views)
	if err != nil {
		return fmt.Errorf("charts: %w", err)
	}
	io.WriteString(out, `<script type="application/json" id="chart-data">`)
	out.Write(b)
	io.WriteString(out, "</script>\n")
	if p.Trace != nil {
		io.WriteString(out, `<script type="application/json" id="trace-data">`)
		if err := writeTrace(out, r, s); err != nil {
			return err
		}
		io.WriteString(out, "</script>\n")
	}
	return writeProgram(out, p.Map)
}

// program is the scripts of a page, in their order.
func program(withMap bool) []string {
	if withMap {
		return []string{echartsJS, mapJS, pageJS}
	}
	return []string{echartsJS, pageJS}
}

// writeProgram writes the data of the map, where there is one, and the page's scripts.
func writeProgram(out *bufio.Writer, m *mapView) error {
	if m != nil {
		b, err := m.json()
		if err != nil {
			return err
		}
		io.WriteString(out, `<script type="application/json" id="map-data">`)
		out.Write(b)
		io.WriteString(out, "</script>\n")
	}
	for _, script := range program(m != nil) {
		io.WriteString(out, "<script>")
		io.WriteString(out, script)
		io.WriteString(out, "</script>\n")
	}
	return nil
}

// charts lists every chart of the page.
func (p *page) charts() []*chart {
	var all []*chart
	if p.Trace != nil {
		all = append(all, p.Trace)
	}
	for _, rd := range p.Readings {
		for _, b := range rd.Blocks {
			if b.Chart != nil {
				all = append(all, b.Chart)
			}
		}
	}
	return all
}
