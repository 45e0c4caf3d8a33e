package report

import (
	"bufio"
	"bytes"
	_ "embed" // the page's parts are built in, so that it works offline
	"encoding/json"
	"fmt"
	"html/template"
	"io"

	"stanchion/analyze"
)

//go:embed assets/study.gohtml
var studyTemplate string

// A study is the page of a comparison or of sweeps.
type study struct {
	Title, Sub, Mark, Version, Policy string
	Style                             template.CSS
	Verdict                           verdict
	Lines                             []string  // of the verdict, where there is one for each of several adjusters
	Sets                              []setCard // told apart by colour and line, nil for a sweep
	Can, Cannot                       []string
	Parts                             []part
	Caveats                           []analyze.Caveat // notes only: warnings are at the head, with the verdict
	Method                            string           // how it was computed, in words
	Settings                          []table
	Schema                            int
}

// A setCard names one set of runs with the marks that it has in every drawing.
type setCard struct {
	Kind, Name string // Kind is "a" or "b"
	Runs       []string
}

// A part is a section of the page.
type part struct {
	ID, Title string
	Blocks    []block
	Folds     []fold // behind the blocks
	OnePage   bool   // belongs to the summary that is printed on one page
	Map       *mapView
	Coach     *coachView
}

// A fold is a stretch of a part that is closed until the reader opens it. It is printed.
type fold struct {
	Summary string
	Blocks  []block
}

// blocks are all blocks of a part, open or folded.
func (p *part) blocks() []block {
	all := append([]block(nil), p.Blocks...)
	for _, f := range p.Folds {
		all = append(all, f.Blocks...)
	}
	return all
}

// notesOf are the caveats that are no warnings.
func notesOf(list []analyze.Caveat) []analyze.Caveat {
	var out []analyze.Caveat
	for _, c := range list {
		if c.Severity != analyze.Warning {
			out = append(out, c)
		}
	}
	return out
}

// charts lists every chart of the page.
func (p *study) charts() []*chart {
	var all []*chart
	for i := range p.Parts {
		for _, b := range p.Parts[i].blocks() {
			if b.Chart != nil {
				all = append(all, b.Chart)
			}
		}
	}
	return all
}

// write fills in what all studies share and writes the page.
func (p *study) write(w io.Writer, opt HTMLOptions) error {
	var m *mapView
	for i := range p.Parts {
		if p.Parts[i].Map != nil {
			m = p.Parts[i].Map
		}
	}
	p.Version, p.Policy, p.Style = opt.Version, policy(m != nil), template.CSS(style())
	if opt.Title != "" {
		p.Title = opt.Title
	}
	t, err := templates()
	if err != nil {
		return err
	}
	var words bytes.Buffer
	if err := t.ExecuteTemplate(&words, "study", p); err != nil {
		return fmt.Errorf("page: %w", err)
	}
	out := bufio.NewWriterSize(w, 1<<16)
	out.WriteString(unbroken(words.String()))
	views := map[string][]view{}
	for _, c := range p.charts() {
		views[c.ID] = c.Views
	}
	b, err := json.Marshal(views)
	if err != nil {
		return fmt.Errorf("page: charts: %w", err)
	}
	io.WriteString(out, `<script type="application/json" id="chart-data">`)
	out.Write(b)
	io.WriteString(out, "</script>\n")
	if err := writeProgram(out, m); err != nil {
		return fmt.Errorf("page: %w", err)
	}
	io.WriteString(out, "</body>\n</html>\n")
	if err := out.Flush(); err != nil {
		return fmt.Errorf("page: %w", err)
	}
	return nil
}
