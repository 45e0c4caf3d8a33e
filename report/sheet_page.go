package report

import (
	"io"
	"time"

	"stanchion/analyze"
	"stanchion/ingest"
)

// A SetupSheet is how a bike is set, to be printed and taken to the trail.
type SetupSheet struct {
	Fork     ingest.Fork
	Bike     string
	At       time.Time // of the sheet
	Settings []NamedValue
	Services []string // what is planned or due, for people
}

// A NamedValue is a setting in words: "Rebound", "6 clicks from closed".
type NamedValue struct{ Name, Value string }

// sheetRows are the empty lines of the sheet for the runs of the day.
const sheetRows = 12

// SetupSheetHTML writes the sheet as a page to print: what is set now, and lines to fill in by hand. The same input gives the same bytes.
func SetupSheetHTML(w io.Writer, s *SetupSheet, opt HTMLOptions) error {
	name := s.Fork.Name
	if name == "" {
		name = "fork with " + mm(s.Fork.TravelMM) + " of travel"
	}
	bike := ""
	if s.Bike != "" {
		bike = s.Bike + ", "
	}
	p := &study{Title: "Setup sheet: " + name, Sub: bike + mm(s.Fork.TravelMM) + " of travel, " + s.At.Format(dayLong), Mark: "setup sheet", Schema: analyze.SchemaVersion,
		Verdict: verdict{Line: "As the bike is set now. Note what you change, one thing at a time."},
		Can:     []string{"What was set when this sheet was printed"},
		Cannot:  []string{"What has been turned since: write it down below"},
		Method:  "Clicks are counted from fully closed. Stay within the pressures and ranges that the maker of the fork allows; they are printed on it or in its manual.",
	}
	now := table{Caption: "Set now", Heads: []head{{Text: "Setting"}, {Text: "Value"}, {Text: "Changed to", Words: true}}, Empty: "nothing noted yet"}
	for _, v := range s.Settings {
		now.Rows = append(now.Rows, texts(v.Name, v.Value, ""))
	}
	day := table{Caption: "Runs of the day", Heads: []head{{Text: "Run"}, {Text: "Time"}, {Text: "What was changed", Words: true}, {Text: "°C"}, {Text: "How it felt", Words: true}}}
	for range sheetRows {
		day.Rows = append(day.Rows, texts(gap, "", "", "", ""))
	}
	p.Parts = []part{
		{ID: "now", Title: "Set now", Blocks: []block{{ID: "settings", Title: "Settings", Wide: true, Tables: []table{now}}}},
		{ID: "day", Title: "Test day", Blocks: []block{{ID: "runs", Title: "Runs of the day", Wide: true, Tables: []table{day},
			Read: "Change one thing, alternate the settings, ride each at least three times, same line, warm fork."}}},
	}
	if len(s.Services) > 0 {
		var rows []figureRow
		for _, line := range s.Services {
			rows = append(rows, figureRow{Name: "Service", Value: shown{Text: line}})
		}
		p.Parts = append(p.Parts, part{ID: "services", Title: "Services", Blocks: []block{{ID: "due", Title: "By hours of filed riding", Figures: rows}}})
	}
	return p.write(w, opt)
}
