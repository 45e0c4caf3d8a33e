package ridesim

import (
	"io"
	"math"
	"strconv"
	"time"

	"stanchion/ingest"
)

// CSVFormat says how a log is written as text. An empty header name leaves its column out (time and travel are
// always written).
type CSVFormat struct {
	Preamble     []string // lines before the header, written as they are
	Comma        byte
	Decimal      byte
	Time         string // header of the stamps
	TimeDecimals int    // stamps are written as ticks / 10^TimeDecimals
	// Start, where set, is the first sample's date and time on the sensor's clock; stamps are then dates and times in UTC, to the µs.
	Start    time.Time
	Travel   string
	Decimals int // of the travel reading
	Speed    string
	Marker   string
	// Of the position columns, filled from Log.Locate: degrees, m, and the receiver's own speed in m/s. Cells without a fix stay empty.
	Lat, Lon, Ele, FixSpeed string
}

// PlainCSV is comma separated with all columns; stamps are whole ticks in µs.
func PlainCSV(unit ingest.Unit) CSVFormat {
	f := CSVFormat{Comma: ',', Decimal: '.', Time: "t_us", Travel: "travel [" + string(unit) + "]", Speed: "speed [m/s]", Marker: "marker"}
	switch unit {
	case ingest.UnitMM, ingest.UnitPercent:
		f.Decimals = 4
	case ingest.UnitVolts:
		f.Decimals = 5
	}
	return f
}

// LocatedCSV is PlainCSV with the receiver's columns.
func LocatedCSV(unit ingest.Unit) CSVFormat {
	f := PlainCSV(unit)
	f.Lat, f.Lon, f.Ele, f.FixSpeed = "latitude [deg]", "longitude [deg]", "elevation [m]", "gps speed [m/s]"
	return f
}

// Write writes the log.
func (f CSVFormat) Write(w io.Writer, l *Log) error {
	buf := f.header(nil)
	marks := make(map[int]string, len(l.Markers))
	for _, m := range l.Markers {
		marks[m.Sample] = m.Label
	}
	var elapsed []uint64
	if !f.Start.IsZero() {
		elapsed = l.elapsed()
	}
	for i := range l.Reading {
		if elapsed != nil {
			buf = f.dateTime(buf, float64(elapsed[i])*l.Sensor.tick())
		} else {
			buf = f.fixed(buf, int64(l.Tick[i]), f.TimeDecimals)
		}
		buf = f.row(buf, l.Reading[i], l.SpeedMS[i], l.fixAt(i), marks[i])
		if len(buf) > 60_000 {
			if _, err := w.Write(buf); err != nil {
				return err
			}
			buf = buf[:0]
		}
	}
	_, err := w.Write(buf)
	return err
}

func (f CSVFormat) header(buf []byte) []byte {
	for _, line := range f.Preamble {
		buf = append(append(buf, line...), '\n')
	}
	buf = append(append(append(buf, f.Time...), f.Comma), f.Travel...)
	for _, name := range []string{f.Speed, f.Lat, f.Lon, f.Ele, f.FixSpeed, f.Marker} {
		if name != "" {
			buf = append(append(buf, f.Comma), name...)
		}
	}
	return append(buf, '\n')
}

// dateTime writes a time s after Start.
func (f CSVFormat) dateTime(buf []byte, s float64) []byte {
	at := f.Start.Add(time.Duration(math.Round(s*1e6)) * time.Microsecond)
	return at.UTC().AppendFormat(buf, "2006-01-02T15:04:05.000000Z")
}

// row writes what follows the stamp.
func (f CSVFormat) row(buf []byte, reading, speed float64, fix *ingest.Fix, mark string) []byte {
	buf = f.number(append(buf, f.Comma), reading, f.Decimals)
	if f.Speed != "" {
		buf = f.number(append(buf, f.Comma), speed, 2)
	}
	buf = f.position(buf, fix)
	if f.Marker != "" {
		buf = append(append(buf, f.Comma), mark...)
	}
	return append(buf, '\n')
}

// position writes the receiver's cells.
func (f CSVFormat) position(buf []byte, fix *ingest.Fix) []byte {
	none := ingest.Fix{LatDeg: math.NaN(), LonDeg: math.NaN(), EleM: math.NaN(), SpeedMS: math.NaN()}
	if fix == nil {
		fix = &none
	}
	for _, c := range [...]struct {
		name     string
		v        float64
		decimals int
	}{{f.Lat, fix.LatDeg, 7}, {f.Lon, fix.LonDeg, 7}, {f.Ele, fix.EleM, 2}, {f.FixSpeed, fix.SpeedMS, 2}} {
		if c.name != "" {
			buf = f.number(append(buf, f.Comma), c.v, c.decimals)
		}
	}
	return buf
}

// number writes v rounded to the given decimals, nothing for NaN.
func (f CSVFormat) number(buf []byte, v float64, decimals int) []byte {
	if math.IsNaN(v) {
		return buf
	}
	scale := 1.0
	for range decimals {
		scale *= 10
	}
	if v < 0 {
		return f.fixed(buf, int64(v*scale-0.5), decimals)
	}
	return f.fixed(buf, int64(v*scale+0.5), decimals)
}

// fixed writes v / 10^decimals.
func (f CSVFormat) fixed(buf []byte, v int64, decimals int) []byte {
	if v < 0 {
		buf, v = append(buf, '-'), -v
	}
	unit := int64(1)
	for range decimals {
		unit *= 10
	}
	buf = strconv.AppendInt(buf, v/unit, 10)
	if decimals == 0 {
		return buf
	}
	buf = append(buf, f.Decimal)
	for v %= unit; unit > 1; {
		unit /= 10
		buf = append(buf, byte('0'+v/unit%10))
	}
	return buf
}
