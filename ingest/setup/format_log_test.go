package setup

import (
	"reflect"
	"testing"

	"stanchion/ingest"
	"stanchion/ingest/csvlog"
)

// What FormatLog writes is read back as the same options.
func TestFormatLogRoundTrip(t *testing.T) {
	for _, o := range []csvlog.Options{
		{},
		{Delimiter: ";", DecimalComma: true, NoHeader: true, TimeColumn: "1", TimeUnit: "us", TravelColumn: "3", TravelUnit: "counts"},
		{DecimalPoint: true, SkipLines: 4, HeaderLine: 6, TickS: 1e-6, TravelColumn: `odd "name"`, MarkerColumn: "none", NoExtra: true, MaxBadShare: 0.25, MaxBytes: 1 << 33},
		{TimeColumn: "none", RateHz: 999.5, MaxBadShare: -1},
	} {
		text := Format(ingest.Setup{Fork: ingest.Fork{TravelMM: 160}}, nil) + FormatLog(o)
		got, err := Parse("t.toml", []byte(text))
		if err != nil {
			t.Errorf("%+v: %v\n%s", o, err, text)
			continue
		}
		if !reflect.DeepEqual(got.Log, o) {
			t.Errorf("read back %+v, want %+v", got.Log, o)
		}
	}
}
