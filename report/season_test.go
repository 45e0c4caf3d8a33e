package report

import (
	"strings"
	"testing"
	"time"

	"stanchion/ingest"
)

func season() *Season {
	day := time.Date(2031, 5, 4, 10, 0, 0, 0, time.UTC)
	return &Season{Key: "sag.static_mm", Label: "static sag", Unit: "mm", Low: 28, Median: 30, High: 35, Without: 2, Definitions: 2, Points: []SeasonPoint{
		{Run: 1, Name: "<b>one</b>", Trail: "quarry", At: day, Setup: "rebound 4", Value: 28},
		{Run: 2, Name: "two", Trail: "ridge", At: day.AddDate(0, 0, 1), Setup: "rebound 4", Value: 30},
		{Run: 5, Name: "five", Trail: "quarry", At: day.AddDate(0, 1, 0), Setup: "rebound 6", Value: 35},
	}}
}

func TestSeasonPage(t *testing.T) {
	write := func(b *strings.Builder) error { return SeasonHTML(b, season(), time.UTC, HTMLOptions{}) }
	page := written(t, write)
	if page != written(t, write) {
		t.Error("the same season gives other bytes")
	}
	for _, want := range []string{"Static sag over the season", "3 runs, 4 May 2031 to 4 Jun 2031", "between 28.0 and 35.0\u00a0mm", "2 trails", "2 runs were left out", "2 different definitions",
		"&lt;b&gt;one&lt;/b&gt;", `"xAxis":2}`} {
		if !strings.Contains(page, want) {
			t.Errorf("the page does not say %q", want)
		}
	}
	if strings.Contains(page, "<b>one") {
		t.Error("a name is not text")
	}
	if n := strings.Count(page, "<td>rebound 4</td>"); n != 1 {
		t.Errorf("a setup that stays stands %d times in the table, want once", n)
	}
	if err := SeasonHTML(&strings.Builder{}, &Season{Key: "none"}, time.UTC, HTMLOptions{}); err == nil {
		t.Error("a season without runs was drawn")
	}
}

func TestSetupSheet(t *testing.T) {
	s := &SetupSheet{Fork: ingest.Fork{Name: "<i>my</i> fork", TravelMM: 160}, Bike: "hardtail", At: time.Date(2031, 5, 4, 0, 0, 0, 0, time.UTC),
		Settings: []NamedValue{{"rebound", "6 clicks from closed"}}, Services: []string{"seals: 12 of 50 h"}}
	page := written(t, func(b *strings.Builder) error { return SetupSheetHTML(b, s, HTMLOptions{}) })
	for _, want := range []string{"Setup sheet: &lt;i&gt;my&lt;/i&gt; fork", "hardtail, 160\u00a0mm of travel, 4 May 2031", "6 clicks from closed", "seals: 12 of 50", "the maker of the fork allows"} {
		if !strings.Contains(page, want) {
			t.Errorf("the sheet does not say %q", want)
		}
	}
	empty := written(t, func(b *strings.Builder) error {
		return SetupSheetHTML(b, &SetupSheet{Fork: ingest.Fork{TravelMM: 120}}, HTMLOptions{})
	})
	if !strings.Contains(empty, "nothing noted yet") {
		t.Error("a sheet without settings says nothing about it")
	}
}
