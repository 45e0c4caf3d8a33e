package report

import (
	"bytes"
	"fmt"
	"io"

	"stanchion/analyze"
)

// QualityText writes what was understood of a log and how far its data can be trusted, in lines of at most 80 columns.
func QualityText(w io.Writer, r *analyze.Result, opt TextOptions) error {
	t := &screen{color: opt.Color}
	t.line(clip(runName(r.Source)+": "+forkName(r), textColumns))
	t.understood(r.Understood)
	t.line("")
	t.line("Quality of the data")
	for _, f := range qualityFigures(r) {
		t.item(fmt.Sprintf("  %-31s ", f.Name), f.inlineWithHint())
	}
	for _, g := range r.Quality.Splits {
		t.item("  ", fmt.Sprintf("gap from %s, lasted %s", clock(g.StartS), length(g.DurationS)))
	}
	for _, b := range r.Quality.FirstBadRows {
		t.item("  ", fmt.Sprintf("%s:%d: %s", r.Source, b.Line, b.Reason))
	}
	t.line("")
	for _, severity := range []string{analyze.Warning, analyze.Note} {
		for _, c := range r.Caveats {
			if c.Severity == severity {
				t.item(severity+": ", c.Text)
			}
		}
	}
	if len(r.Caveats) == 0 {
		t.line("Nothing to complain about.")
	}
	if _, err := io.WriteString(w, t.out.String()); err != nil {
		return fmt.Errorf("quality: %w", err)
	}
	return nil
}

// inlineWithHint is the value on one line, with its hint in brackets.
func (f figureRow) inlineWithHint() string {
	text := f.Value.inline()
	if f.Hint != "" {
		text += " (" + f.Hint + ")"
	}
	return text
}

// UnderstoodText writes what was understood of a log that could not be taken further, in lines of at most 80 columns.
func UnderstoodText(w *bytes.Buffer, source string, understood []string) {
	t := &screen{}
	t.line(clip(runName(source), textColumns))
	t.understood(understood)
	t.line("")
	w.WriteString(t.out.String())
}

func (t *screen) understood(facts []string) {
	t.line("")
	t.line("How the log was read")
	for _, u := range facts {
		t.item("  ", u)
	}
}

// item writes text behind a lead; further lines are indented as far as the lead reaches.
func (t *screen) item(lead, text string) {
	indent := fmt.Sprintf("%*s", len([]rune(lead)), "")
	for text = clean(text); ; lead = indent {
		head, rest := breakLine(text, textColumns-len([]rune(lead)))
		t.line(lead + head)
		if text = rest; text == "" {
			return
		}
	}
}
