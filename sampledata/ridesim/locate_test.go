package ridesim

import (
	"bytes"
	"encoding/csv"
	"math"
	"slices"
	"strconv"
	"testing"
	"time"

	"stanchion/ingest"
)

// Each row carries the newest fix that had come in, at the receiver's rate over fast rows, and none in a drop-out or before the first.
func TestLocatedCSV(t *testing.T) {
	truth := sineTruth(100, 3001)
	truth.DistanceM = make([]float64, 3001)
	for i := range truth.DistanceM {
		truth.DistanceM[i], truth.SpeedMS[i] = float64(i)*0.06, 6
	}
	r := OpenGround(5)
	r.ClockOffsetS, r.Dropouts, r.DropoutS = 0.53, 1, 3
	tr := track(t, r, Passage{Trail: lay(t, descent(), Shape{}), Truth: &truth})
	log := read(t, CleanSensor(100), truth)
	log.Locate(tr, r)
	var b bytes.Buffer
	if err := LocatedCSV(ingest.UnitMM).Write(&b, &log); err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(&b).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	column := map[string]int{}
	for i, name := range rows[0] {
		column[name] = i
	}
	lat, lon, ele, speed := column["latitude [deg]"], column["longitude [deg]"], column["elevation [m]"], column["gps speed [m/s]"]
	if lat*lon*ele*speed == 0 || len(rows) != 3002 {
		t.Fatalf("%d rows under %v", len(rows), rows[0])
	}
	near := func(cell string, want, tight float64) bool {
		v, err := strconv.ParseFloat(cell, 64)
		return err == nil && math.Abs(v-want) <= tight
	}
	empty, seen := 0, map[string]bool{}
	for i, row := range rows[1:] {
		at := float64(i)/100 - 0.53
		var want *ingest.Fix
		for k := range tr.Fixes { // written out plainly: the last fix that is not late, if it is not old
			if f := &tr.Fixes[k]; f.TimeS <= at+1e-9 && at-f.TimeS < 0.3-1e-9 {
				want = f
			}
		}
		if want == nil {
			empty++
			if row[lat]+row[lon]+row[ele]+row[speed] != "" {
				t.Fatalf("row %d has a fix that never came: %v", i, row)
			}
			continue
		}
		seen[row[lat]+row[lon]] = true
		if !near(row[lat], want.LatDeg, 1e-9) || !near(row[lon], want.LonDeg, 1e-9) || !near(row[ele], want.EleM, 1e-6) || !near(row[speed], want.SpeedMS, 1e-6) {
			t.Fatalf("row %d is %v, want %+v", i, row, *want)
		}
	}
	if empty < 53+280 || empty > 53+320 || len(seen) != len(tr.Fixes) {
		t.Errorf("%d rows without a fix, %d of %d fixes seen", empty, len(seen), len(tr.Fixes))
	}
}

// A sensor with a calendar clock: its counter wraps unseen, and stamps are right to the µs.
func TestDatedCSV(t *testing.T) {
	s := DefaultSensor()
	s.RateHz, s.CounterBits, s.StartTick = 100, 16, 60000
	log := read(t, s, sineTruth(100, 300))
	f := PlainCSV(s.Unit)
	f.Time, f.Start = "time", time.Date(2024, 2, 29, 23, 59, 59, 500e6, time.UTC)
	var b bytes.Buffer
	if err := f.Write(&b, &log); err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(&b).ReadAll()
	if err != nil || rows[0][0] != "time" {
		t.Fatal(rows[0], err)
	}
	for i, row := range rows[1:] {
		at, err := time.Parse(time.RFC3339Nano, row[0])
		if off := at.Sub(f.Start).Seconds() - float64(i)/100; err != nil || math.Abs(off) > 12e-6 { // 2.5 times the jitter, and rounding
			t.Fatalf("row %d is stamped %s, %v", i, row[0], err)
		}
	}
	if i := slices.IndexFunc(rows, func(r []string) bool { return r[0] >= "2024-03-01T" && r[0] < "2025" }); i < 49 || i > 52 {
		t.Errorf("the month changes in row %d, want 51", i)
	}
}
