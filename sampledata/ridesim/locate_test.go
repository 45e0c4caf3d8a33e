package ridesim

import (
	"bytes"
	"encoding/csv"
	"math"
	"strconv"
	"testing"

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
