package wire

import (
	"fmt"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// lines reads text, and returns a word or two for each line.
func lines(d *LineDecoder, text string) string { return linesSplit(d, text, len(text)) }

// linesSplit is lines, with the text handed over in pieces of n bytes.
func linesSplit(d *LineDecoder, text string, n int) string {
	var out []string
	for p := []byte{}; len(text)+len(p) > 0; {
		if len(p) == 0 {
			p, text = []byte(text[:min(n, len(text))]), text[min(n, len(text)):]
		}
		var l *Line
		if l, p = d.Next(p); l == nil {
			continue
		}
		switch l.Kind {
		case LineRow:
			restart := ""
			if l.Restart {
				restart = " restart"
			}
			out = append(out, fmt.Sprintf("%d:%d%v%s", l.Number, l.StampUS, l.Values, restart))
		case LineHeader:
			out = append(out, fmt.Sprintf("%d:names%q", l.Number, l.Names))
		case LineComment:
			out = append(out, fmt.Sprintf("%d:#%s", l.Number, l.Text))
		case LineBad:
			out = append(out, fmt.Sprintf("%d:bad: %v", l.Number, l.Err))
		}
	}
	return strings.Join(out, "|")
}

func TestLines(t *testing.T) {
	const up = 4_294_967_296
	for name, c := range map[string]struct{ text, want string }{
		"plain":           {"0,1\n1000,2\n", "1:0[1]|2:1000[2]"},
		"header, comment": {"# board 7 \nmicros, count\n0,1\n", `1:#board 7|2:names["micros" "count"]|3:0[1]`},
		"line ends":       {"0,1\r\n\r\n \t\n5,2\n", "1:0[1]|4:5[2]"},
		"blanks, signs":   {" 1 , -2 ,\t+3.5, .25\n", "1:1[-2 3.5 0.25]"},
		"wrap":            {"4294967000,1\n704,2\n", fmt.Sprintf("1:4294967000[1]|2:%d[2]", up+704)},
		"two wraps": {"4294967000,1\n9,1\n4290000000,1\n8,1\n",
			fmt.Sprintf("1:4294967000[1]|2:%d[1]|3:%d[1]|4:%d[1]", up+9, up+4290000000, 2*up+8)},
		"reset":              {"900000000,1\n1000,2\n2000,3\n", "1:900000000[1]|2:1000[2] restart|3:2000[3]"},
		"reset near a wrap":  {"4294967000,1\n20000000,2\n", "1:4294967000[1]|2:20000000[2] restart"},
		"64-bit stamps":      {"5000000000,1\n5000001000,1\n", "1:5000000000[1]|2:5000001000[1]"},
		"64 bits, reset":     {"5000000000,1\n5,1\n", "1:5000000000[1]|2:5[1] restart"},
		"64 bits, no wrap":   {"8589934591,1\n5,1\n", "1:8589934591[1]|2:5[1] restart"},
		"not a stamp":        {"1.5,2\n-1,2\n,2\n1e3,2\n", "1:bad: " + errLineStamp.Error() + "|2:bad: " + errLineStamp.Error() + `|3:names["" "2"]|4:bad: ` + errLineStamp.Error()},
		"not a value":        {"1,x\n2,\n3,0x10\n4,1e3\n5,nan\n6,1-2\n7,--1\n", strings.TrimSuffix(strings.Join(badLines(7, errLineValue), "|"), "|")},
		"columns change":     {"1,2\n2,3,4\n3\n4,5\n", "1:1[2]|2:bad: " + errLineWidth.Error() + "|3:bad: " + errLineColumns.Error() + "|4:4[5]"},
		"too many columns":   {"1" + strings.Repeat(",1", 17) + "\na" + strings.Repeat(",b", 17) + "\n", strings.Join(badLines(2, errLineColumns), "|")},
		"sixteen values":     {"1" + strings.Repeat(",1", 16) + "\n", "1:1[1" + strings.Repeat(" 1", 15) + "]"},
		"header after a row": {"1,2\nmicros,count\n", "1:1[2]|2:bad: " + errLineStamp.Error()},
		"longest line":       {"1," + strings.Repeat("0", 253) + "1\r\n", "1:1[1]"},
		"too long":           {"1," + strings.Repeat("0", 254) + "1\n2,3\n", "1:bad: " + errLineLong.Error() + "|2:2[3]"},
		"CR inside":          {"1," + strings.Repeat("0", 253) + "1\rx\n2,3\n", "1:bad: " + errLineLong.Error() + "|2:2[3]"},
		"much too long":      {strings.Repeat("9", 5000) + "\n2,3\n", "1:bad: " + errLineLong.Error() + "|2:2[3]"},
		"not UTF-8":          {"# \xff\n2,3\n", "1:bad: " + errLineUTF8.Error() + "|2:2[3]"},
		"unfinished":         {"1,2\n2,3", "1:1[2]"},
	} {
		for _, n := range []int{1, 200, len(c.text)} {
			if got := linesSplit(NewLineDecoder(false), c.text, n); got != c.want {
				t.Errorf("%s, in pieces of %d bytes:\n got %s\nwant %s", name, n, got, c.want)
			}
		}
	}
}

func badLines(n int, err error) (out []string) {
	for i := range n {
		out = append(out, fmt.Sprintf("%d:bad: %v", i+1, err))
	}
	return out
}

func TestLinesJoined(t *testing.T) {
	d := NewLineDecoder(true)
	if got, want := lines(d, "345,678\n1000,2\n"), "1:bad: "+errLineJoined.Error()+"|2:1000[2]"; got != want {
		t.Errorf("got %s, want %s", got, want)
	}
	if rows, bad := d.Rows(); rows != 1 || bad != 1 {
		t.Errorf("%d rows, %d bad", rows, bad)
	}
	if got := lines(NewLineDecoder(true), "# hello\n1000,2\n"); got != "1:#hello|2:1000[2]" {
		t.Errorf("got %s", got)
	}
}

func TestLinesClose(t *testing.T) {
	d := NewLineDecoder(false)
	lines(d, "1,2\n2,3")
	if l := d.Close(); l == nil || l.Kind != LineBad || l.Number != 2 {
		t.Errorf("a last line without an end: %+v, want a bad line 2", l)
	}
	if l := d.Close(); l != nil {
		t.Errorf("closed twice: %+v", l)
	}
}

// What a board prints is what is read, at any split, through any number of wraps of its 32-bit counter.
func TestLinesProperty(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		columns := rapid.IntRange(1, MaxChannels).Draw(t, "columns")
		var text []byte
		us := uint64(rapid.Uint32().Draw(t, "start"))
		first := us
		var stamps []uint64
		var values []string
		for range rapid.IntRange(1, 30).Draw(t, "rows") {
			stamps = append(stamps, us)
			text = fmt.Appendf(text, "%d", uint32(us))
			row := make([]float64, columns)
			for i := range row {
				row[i] = float64(rapid.IntRange(-1_000_000, 1_000_000).Draw(t, "value")) / rapid.SampledFrom([]float64{1, 8}).Draw(t, "part")
				text = fmt.Appendf(text, ",%.3f", row[i])
			}
			values = append(values, fmt.Sprint(row))
			text = append(text, '\n')
			us += rapid.Uint64Range(1, wrapLimitUS).Draw(t, "step")
		}
		d := NewLineDecoder(false)
		n := 0
		for len(text) > 0 {
			p := text[:min(len(text), rapid.IntRange(1, 50).Draw(t, "split"))]
			text = text[len(p):]
			for len(p) > 0 {
				var l *Line
				if l, p = d.Next(p); l == nil {
					continue
				}
				if l.Kind != LineRow || l.Restart || l.StampUS-first != stamps[n]-first || fmt.Sprint(l.Values) != values[n] {
					t.Fatalf("row %d: %+v, want %d %s", n, l, stamps[n], values[n])
				}
				n++
			}
		}
		if n != len(stamps) {
			t.Fatalf("%d rows, want %d", n, len(stamps))
		}
	})
}

func TestSniff(t *testing.T) {
	r := &ride{}
	d := r.start(t, 9)
	d.sample(t, 100)
	frames := string(r.bytes())
	const rows = "1000,2048\n2000,2049\n3000,2050\n"
	for name, c := range map[string]struct {
		stream string
		want   Mode
	}{
		"nothing":               {"", ModeUnknown},
		"frames":                {frames, ModeFrames},
		"frames joined late":    {frames[20:], ModeFrames},
		"half a frame":          {frames[:40], ModeUnknown},
		"boot text, frames":     {"boot 1.0\r\nready\r\n" + frames, ModeFrames},
		"rows, then frames":     {rows + frames, ModeFrames},
		"rows":                  {rows + "4000,1\n", ModeText},
		"rows joined late":      {"00,2048\n" + rows, ModeText},
		"first row is in doubt": {rows, ModeUnknown},
		"header and rows":       {"micros,count\n" + rows, ModeText},
		"comments between":      {"# a\n1000,1\n# b\n2000,1\n\n3000,1\n", ModeText},
		"bad lines between":     {"\n1,1\n2,1\nx\n3,1\n4,1\nx\n", ModeUnknown},
		"other text":            {strings.Repeat("hello, world\n", 20), ModeUnknown},
		"noise":                 {strings.Repeat("\x91\xfe\x00\x33", 1000), ModeUnknown},
		"one bare frame":        {frames[1 : strings.Index(frames[1:], "\x00")+1], ModeFrames},
	} {
		if got := Sniff([]byte(c.stream)); got != c.want {
			t.Errorf("%s: %v, want %v", name, got, c.want)
		}
	}
}
