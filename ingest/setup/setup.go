// Package setup reads the file that describes a fork and its sensor.
//
// The file is TOML with these tables, of which only [fork] must be there:
//
//	[fork]
//	name = "160 mm demo fork"
//	travel_mm = 160.0          # 20 to 400
//	head_angle_deg = 64.5      # 40 to 90, from horizontal
//
//	[sensor]
//	unit = "counts"            # what the log holds: counts, volts, percent or mm
//	adc_bits = 12              # 8 to 24
//	method = "linear"          # or "pchip"
//	points = [                 # two or more, for pchip three or more
//	  { reading = 310, travel_mm = 0.0 },
//	  { reading = 3720, travel_mm = 160.0 },
//	]
//	zero_offset_mm = 0.0
//
//	[spring]                   # for stanchion spring; all of it may be left out
//	kind = "air"               # or "coil"
//	bore_mm = 32.0             # of the air piston; or positive_area_cm2
//	positive_volume_cm3 = 205  # at full extension, without spacers
//	shaft_mm = 10.0            # through the negative chamber; or negative_area_cm2
//	negative_volume_cm3 = 45   # at full extension
//	negative = "self"          # fed by a transfer port; or "separate" (a pump of its own), or "none"
//	transfer_mm = 0.0          # travel at which the port joins the chambers
//	spacer_cm3 = 7.0           # volume of one volume spacer
//	spacers = 1                # fitted now
//	max_spacers = 4            # that fit, by the manual
//	exponent = 1.3             # of the gas when riding, 1 to 1.4; static_exponent = 1.0 at rest
//	max_pressure_psi = 120     # the maker's limit; or max_pressure_bar
//	friction_n = 18            # of seals and bushings, along the stanchion
//	measured = [               # instead of negative_volume_cm3: sags of one rider at two or more pressures
//	  { pressure_psi = 70, sag_mm = 44 },
//	  { pressure_psi = 90, sag_mm = 33 },
//	]
//	rate_n_mm = 8.5            # of a coil, with preload_mm = 4
//
//	[adjuster.rebound]         # for stanchion advise; positions are clicks from fully closed
//	clicks = 16                # from fully closed to fully open, by the manual
//	usable_from = 2            # the range in which a sweep showed that it does something
//	usable_to = 11
//
//	[log]                      # overrules what the reader finds, see csvlog.Options
//	delimiter = ";"
//	decimal_comma = true
//	decimal_point = false
//	skip_lines = 0
//	header_line = 1
//	no_header = false
//	time_column = "t_us"       # a name or a number, or "none"
//	time_unit = "us"
//	tick_s = 0.000001
//	rate_hz = 1000
//	travel_column = "fork"
//	travel_unit = "counts"     # sensor.unit where not set
//	marker_column = "lap"
//	no_extra = false
//	max_bad_share = 0.05
//	max_bytes = 1073741824
//
// All that is wrong with a file is reported together, with lines; keys that are not known are errors too.
package setup

import (
	"errors"
	"fmt"
	"io"
	"os"

	"stanchion/ingest"
	"stanchion/ingest/csvlog"
)

// MaxBytes is the largest file that is read.
const MaxBytes = 64 << 10

// A File is what a setup file says.
type File struct {
	Setup ingest.Setup
	Log   csvlog.Options // for the reader; SensorUnit is the sensor's unit
}

// Load reads the setup file at path. Errors in its contents are of type *Error.
func Load(path string) (File, error) {
	f, err := os.Open(path)
	if err != nil {
		return File{}, fmt.Errorf("setup file: %w", err)
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, MaxBytes+1))
	if err != nil {
		return File{}, fmt.Errorf("setup file: %w", err)
	}
	return Parse(path, data)
}

// Parse reads the contents of a setup file; name stands for it in errors, which are of type *Error.
func Parse(name string, data []byte) (File, error) {
	top, err := decode(name, data)
	if err != nil {
		return File{}, err
	}
	c := &checker{lines: findLines(string(data))}
	var f File
	c.file(top, &f)
	if len(c.problems) > 0 {
		return File{}, &Error{Path: name, Problems: c.sorted()}
	}
	return f, nil
}

// file reads the whole file.
func (c *checker) file(top map[string]any, f *File) {
	root := section{c: c, values: top}
	if fork, ok := root.section("fork"); ok {
		c.fork(fork, &f.Setup.Fork)
	} else if _, there := top["fork"]; !there {
		c.add("fork", "is missing: the table [fork] with travel_mm must be there")
	}
	if sensor, ok := root.section("sensor"); ok {
		c.sensor(sensor, &f.Setup.Sensor)
	}
	if spring, ok := root.section("spring"); ok {
		f.Setup.Spring = c.spring(spring, f.Setup.Fork.TravelMM)
	}
	if adjusters, ok := root.section("adjuster"); ok {
		f.Setup.Adjusters = c.adjusters(adjusters)
	}
	if log, ok := root.section("log"); ok {
		c.log(log, &f.Log)
	}
	root.unknown()
	f.Log.SensorUnit = string(f.Setup.Sensor.Unit)
}

func (c *checker) fork(s section, fork *ingest.Fork) {
	s.text("name", &fork.Name)
	if !s.number("travel_mm", &fork.TravelMM, 20, 400) {
		c.add("fork.travel_mm", "is missing: the fork's usable travel in mm must be given")
	}
	s.number("head_angle_deg", &fork.HeadAngleDeg, 40, 90)
	s.unknown()
}

func (c *checker) sensor(s section, sensor *ingest.Sensor) {
	var unit, method string
	s.oneOf("unit", &unit, "counts", "volts", "percent", "mm")
	s.oneOf("method", &method, "linear", "pchip")
	sensor.Unit, sensor.Method = ingest.Unit(unit), ingest.CalibrationMethod(method)
	s.whole("adc_bits", &sensor.ADCBits, 8, 24)
	s.number("zero_offset_mm", &sensor.ZeroOffsetMM, -400, 400)
	before := len(c.problems)
	for i, p := range s.sections("points") {
		var point ingest.CalibrationPoint
		if !p.number("reading", &point.Reading, -1e9, 1e9) {
			c.add(p.path+".reading", "is missing")
		}
		if !p.number("travel_mm", &point.TravelMM, -400, 800) {
			c.add(p.path+".travel_mm", "is missing")
		}
		p.unknown()
		if top := 1<<sensor.ADCBits - 1; sensor.ADCBits > 0 && sensor.Unit == ingest.UnitCounts && (point.Reading < 0 || point.Reading > float64(top)) {
			c.add(p.path+".reading", "is %g, but %d bits hold 0 to %d", point.Reading, sensor.ADCBits, top)
		}
		sensor.Points = append(sensor.Points, point)
		if i >= maxPoints {
			c.add("sensor.points", "are more than %d", maxPoints)
			break
		}
	}
	s.unknown()
	if len(c.problems) == before {
		c.points(s, sensor)
	}
}

func (c *checker) log(s section, o *csvlog.Options) {
	before := len(c.problems)
	s.text("delimiter", &o.Delimiter)
	s.flag("decimal_comma", &o.DecimalComma)
	s.flag("decimal_point", &o.DecimalPoint)
	s.whole("skip_lines", &o.SkipLines, 0, 1e9)
	s.whole("header_line", &o.HeaderLine, 1, 1e9)
	s.flag("no_header", &o.NoHeader)
	s.column("time_column", &o.TimeColumn)
	s.text("time_unit", &o.TimeUnit)
	s.number("tick_s", &o.TickS, 1e-12, 3600)
	s.number("rate_hz", &o.RateHz, 0.001, 1e7)
	s.column("travel_column", &o.TravelColumn)
	s.text("travel_unit", &o.TravelUnit)
	s.column("marker_column", &o.MarkerColumn)
	s.flag("no_extra", &o.NoExtra)
	s.number("max_bad_share", &o.MaxBadShare, 0, 1)
	if o.MaxBadShare == 0 && s.has("max_bad_share") {
		o.MaxBadShare = -1 // for the reader 0 is the default
	}
	var bytes int
	s.whole("max_bytes", &bytes, 1, 1<<40)
	o.MaxBytes = int64(bytes)
	s.unknown()
	if len(c.problems) > before {
		return
	}
	var wrong *csvlog.Error
	if err := o.Check(); errors.As(err, &wrong) {
		c.add("log", "%s (%s)", wrong.Reason, wrong.Hint)
	}
}
