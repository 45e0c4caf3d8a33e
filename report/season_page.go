package report

import (
	"fmt"
	"io"
	"time"

	"github.com/go-echarts/go-echarts/v2/charts"
	"github.com/go-echarts/go-echarts/v2/opts"

	"stanchion/analyze"
)

// A Season is one figure over filed runs.
type Season struct {
	Key         string        `json:"key"`
	Label       string        `json:"label"`
	Unit        string        `json:"unit,omitempty"` // of analyze.Scalar
	Points      []SeasonPoint `json:"points"`         // in the order ridden
	Without     int           `json:"without"`        // runs in which the figure is absent
	Low         float64       `json:"low"`
	Median      float64       `json:"median"`
	High        float64       `json:"high"`
	Definitions int           `json:"definitions"` // different definitions that the figures were computed by
}

// A SeasonPoint is one run.
type SeasonPoint struct {
	Run   int64     `json:"run"`
	Name  string    `json:"name"`
	Trail string    `json:"trail,omitempty"`
	At    time.Time `json:"at"`
	Setup string    `json:"setup,omitempty"`
	Value float64   `json:"value"`
	N     int       `json:"n"`
}

// changes are the places of the points at which the setup differs from the one before.
func (s *Season) changes() []int {
	var out []int
	for i := 1; i < len(s.Points); i++ {
		if s.Points[i].Setup != s.Points[i-1].Setup {
			out = append(out, i)
		}
	}
	return out
}

// trails are the names of the trails ridden, in the order met.
func (s *Season) trails() []string {
	var out []string
	seen := map[string]bool{}
	for _, p := range s.Points {
		if !seen[p.Trail] {
			seen[p.Trail], out = true, append(out, p.Trail)
		}
	}
	return out
}

// SeasonHTML writes the page of a trend: a single file that loads nothing. Times are shown in the zone at.
func SeasonHTML(w io.Writer, s *Season, at *time.Location, opt HTMLOptions) error {
	if err := checkFinite(s); err != nil {
		return err
	}
	if len(s.Points) == 0 {
		return fmt.Errorf("page: no run has the figure %s", s.Key)
	}
	p, err := seasonPage(s, at)
	if err != nil {
		return fmt.Errorf("page: %w", err)
	}
	return p.write(w, opt)
}

func seasonPage(s *Season, at *time.Location) (*study, error) {
	m := measureFor(s.Unit, max(s.High, -s.Low), (s.High-s.Low)/10)
	first, last := s.Points[0].At.In(at), s.Points[len(s.Points)-1].At.In(at)
	p := &study{
		Title: sentence(s.Label) + " over the season", Mark: "season", Schema: analyze.SchemaVersion,
		Sub: counted(len(s.Points), "run", "runs") + ", " + first.Format(dayLong) + " to " + last.Format(dayLong),
		Verdict: verdict{Line: fmt.Sprintf("%s lay between %s and %s; half the runs were under %s. The last run: %s.",
			sentence(s.Label), m.number(s.Low), m.text(s.High), m.text(s.Median), m.text(s.Points[len(s.Points)-1].Value))},
		Can: []string{"What " + s.Label + " was in each run, and when the setup was changed"},
		Cannot: []string{"Whether a change of setup did it: trail, pace and weather changed too. Compare runs that differ in one thing only",
			"Whether a small step between two runs means anything: runs of one setting scatter as well"},
		Method: "Each mark is one run of the logbook, in the order ridden. The distance between marks is not time. A dashed line stands where the setup was changed. " +
			"The middle of " + counted(len(s.Points), "run", "runs") + " is their median.",
	}
	add := func(format string, args ...any) {
		p.Caveats = append(p.Caveats, analyze.Caveat{Severity: analyze.Note, Topic: "season", Text: fmt.Sprintf(format, args...)})
	}
	if n := len(s.trails()); n > 1 {
		add("The runs are of %d trails: a rougher trail moves most figures. Ask for one trail to judge the fork.", n)
	}
	if s.Without > 0 {
		add("%s left out, for want of this figure.", counted(s.Without, "run was", "runs were"))
	}
	if s.Definitions > 1 {
		add("The figures were computed by %d different definitions: compute them again before you judge small steps.", s.Definitions)
	}
	c, err := seasonChart(s, m, at)
	if err != nil {
		return nil, err
	}
	p.Parts = []part{{ID: "runs", Title: "Run by run", Blocks: []block{{ID: "season", Title: sentence(s.Label), Wide: true, Chart: c,
		Read: "A line that climbs or falls under one setup is wear, weather or pace. A step at a dashed line goes with the setup.", Tables: []table{seasonTable(s, m, at)}}}}}
	return p, nil
}

const (
	dayLong  = "2 Jan 2006"
	dayShort = "2 Jan 15:04"
)

// seasonChart draws the runs in their order, with a mark where the setup changed.
func seasonChart(s *Season, m measure, at *time.Location) (*chart, error) {
	var days []string
	var data []opts.ScatterData
	for _, p := range s.Points {
		days = append(days, fmt.Sprintf("%d · %s", p.Run, p.At.In(at).Format("2 Jan")))
		data = append(data, opts.ScatterData{Name: seasonWords(&p, m, at), Value: []any{len(days) - 1, round(p.Value*m.factor, 6)}})
	}
	unit := m.unit
	if unit != "" {
		unit = ", " + unit
	}
	y := yAxis("value", sentence(s.Label)+unit)
	y.Scale = opts.Bool(true)
	sc := charts.NewScatter()
	sc.SetGlobalOptions(append(common(false), charts.WithXAxisOpts(xAxis("category", "Run and day", days)), charts.WithYAxisOpts(y))...)
	sc.AddSeries("Run", data, charts.WithScatterChartOpts(opts.ScatterChart{Symbol: "circle", SymbolSize: 10}), charts.WithItemStyleOpts(opts.ItemStyle{Color: colourA}))
	v, err := finish(sc, "", "name", func(o map[string]any) {
		lines := []any{}
		for _, i := range s.changes() {
			lines = append(lines, map[string]any{"xAxis": i, "name": s.Points[i].Setup})
		}
		item(o, "series", 0)["markLine"] = map[string]any{"silent": true, "symbol": []string{"none", "none"}, "label": map[string]any{"show": false},
			"lineStyle": map[string]any{"color": colourMuted, "type": "dashed", "width": 1}, "data": lines}
	})
	if err != nil {
		return nil, err
	}
	return &chart{ID: "season", Height: 340, Views: []view{v}, Label: "Dot plot: " + s.Label + " of each run in the order ridden. The table below holds the same numbers."}, nil
}

func seasonWords(p *SeasonPoint, m measure, at *time.Location) string {
	t := fmt.Sprintf("Run %d, %s, %s: %s", p.Run, p.Name, p.At.In(at).Format(dayShort), m.text(p.Value))
	if p.Trail != "" {
		t += " on " + p.Trail
	}
	if p.Setup != "" {
		t += "; " + p.Setup
	}
	return t
}

func seasonTable(s *Season, m measure, at *time.Location) table {
	t := table{Caption: "Runs", Heads: []head{{Text: "Run", Number: true}, {Text: "Ridden"}, {Text: "Name"}, {Text: "Trail"},
		{Text: sentence(s.Label), Unit: m.unit, Number: true}, {Text: "Setup, where it changed", Words: true}}}
	before := ""
	for i, p := range s.Points {
		set := ""
		if i == 0 || p.Setup != before {
			set, before = p.Setup, p.Setup
		}
		trail := p.Trail
		if trail == "" {
			trail = absentMark
		}
		t.Rows = append(t.Rows, texts(fmt.Sprint(p.Run), p.At.In(at).Format(dayShort), p.Name, trail, m.number(p.Value), set))
	}
	return t
}
