package setup

import (
	"fmt"
	"strconv"
	"strings"

	"stanchion/ingest"
)

// Format writes a setup as a file that Parse reads back. comments go to the top, a line each.
func Format(s ingest.Setup, comments []string) string {
	var b strings.Builder
	for _, c := range comments {
		for line := range strings.SplitSeq(c, "\n") {
			fmt.Fprintf(&b, "# %s\n", line)
		}
	}
	b.WriteString("[fork]\n")
	if s.Fork.Name != "" {
		fmt.Fprintf(&b, "name = %s\n", quote(s.Fork.Name))
	}
	fmt.Fprintf(&b, "travel_mm = %s\n", number(s.Fork.TravelMM))
	if s.Fork.HeadAngleDeg != 0 {
		fmt.Fprintf(&b, "head_angle_deg = %s\n", number(s.Fork.HeadAngleDeg))
	}
	b.WriteString("\n[sensor]\n")
	if s.Sensor.Unit != "" {
		fmt.Fprintf(&b, "unit = %s\n", quote(string(s.Sensor.Unit)))
	}
	if s.Sensor.ADCBits != 0 {
		fmt.Fprintf(&b, "adc_bits = %d\n", s.Sensor.ADCBits)
	}
	if s.Sensor.Method != "" {
		fmt.Fprintf(&b, "method = %s\n", quote(string(s.Sensor.Method)))
	}
	if len(s.Sensor.Points) > 0 {
		b.WriteString("points = [\n")
		for _, p := range s.Sensor.Points {
			fmt.Fprintf(&b, "  { reading = %s, travel_mm = %s },\n", number(p.Reading), number(p.TravelMM))
		}
		b.WriteString("]\n")
	}
	if s.Sensor.ZeroOffsetMM != 0 {
		fmt.Fprintf(&b, "zero_offset_mm = %s\n", number(s.Sensor.ZeroOffsetMM))
	}
	if s.Spring != nil {
		formatSpring(&b, s.Spring)
	}
	formatAdjusters(&b, s.Adjusters)
	return b.String()
}

// number writes v so that it reads back as the same value.
func number(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

// quote writes a TOML basic string.
func quote(s string) string {
	var b strings.Builder
	b.WriteByte('"')
	for _, r := range strings.ToValidUTF8(s, "\uFFFD") {
		switch {
		case r == '"' || r == '\\':
			b.WriteByte('\\')
			b.WriteRune(r)
		case r < 0x20 || r == 0x7F:
			fmt.Fprintf(&b, `\u%04X`, r)
		default:
			b.WriteRune(r)
		}
	}
	b.WriteByte('"')
	return b.String()
}
