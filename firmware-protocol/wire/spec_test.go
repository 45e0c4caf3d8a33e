package wire

import (
	"bytes"
	"fmt"
	"os"
	"regexp"
	"strings"
	"testing"
)

func readSpec(t *testing.T) string {
	t.Helper()
	b, err := os.ReadFile("../spec.md")
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// tableRows returns the cells of the table rows that start with the given pattern.
func tableRows(text, pattern string) [][]string {
	var rows [][]string
	for _, line := range regexp.MustCompile(`(?m)^\| `+pattern+`.*\|$`).FindAllString(text, -1) {
		cells := strings.Split(strings.Trim(line, "|"), "|")
		for i := range cells {
			cells[i] = strings.TrimSpace(cells[i])
		}
		rows = append(rows, cells)
	}
	return rows
}

// The bytes of the worked example are read out of the page, and must be what the text says they are.
func TestSpecExample(t *testing.T) {
	_, section, _ := strings.Cut(readSpec(t), "### Worked example\n")
	section, _, _ = strings.Cut(section, "\n## ")
	var raw []byte
	for _, row := range tableRows(section, "`") {
		raw = append(raw, unhex(t, strings.Trim(row[0], "`"))...)
	}
	_, block, _ := strings.Cut(section, "```frame\n")
	block, _, _ = strings.Cut(block, "```")
	onWire := unhex(t, strings.ReplaceAll(block, "\n", ""))

	m := &Samples{Index: 96, StampUS: 98500, SpanUS: 2000, Channels: 2, Values: []uint16{1507, 0xFFE0, 1512, 0xFFE0, 1520, 0xFFE1}}
	e := NewEncoder(17)
	e.sequence = 2
	want, err := e.Append(nil, m)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(onWire, want) {
		t.Errorf("the page has on the wire\n%X\nwant\n%X", onWire, want)
	}
	if got, err := AppendUnstuffed(nil, onWire[1:len(onWire)-1]); err != nil || !bytes.Equal(got, raw) {
		t.Errorf("the page has before stuffing\n%X\nwant\n%X, %v", raw, got, err)
	}
	for _, says := range []string{fmt.Sprintf("%d bytes above: %08X", len(raw)-4, slowChecksum(raw[:len(raw)-4])), fmt.Sprintf("On the wire, %d bytes", len(onWire))} {
		if !strings.Contains(section, says) {
			t.Errorf("the page does not say %q", says)
		}
	}
}

// The throughput table, against frames that the encoder makes of values without a zero byte.
func TestSpecThroughput(t *testing.T) {
	_, section, _ := strings.Cut(readSpec(t), "## Throughput\n")
	rows := tableRows(section, `\d`)
	if len(rows) != 12 {
		t.Fatalf("%d rows, want 12", len(rows))
	}
	for _, row := range rows {
		var channels, n int
		fmt.Sscan(row[0]+" "+row[1], &channels, &n)
		m := &Samples{Index: 0x01010101, StampUS: 0x0101010101010101, SpanUS: 0x01010101, Channels: channels}
		for range n * channels {
			m.Values = append(m.Values, 0x0101)
		}
		frame, err := NewEncoder(0x01010101).Append(nil, m)
		if err != nil {
			t.Fatal(err)
		}
		// The sequence number 0 holds the only zeros; they do not change the length here.
		size := len(frame)
		want := []string{fmt.Sprint(channels), fmt.Sprint(n), fmt.Sprint(size), fmt.Sprintf("%.2f", float64(size)/float64(n))}
		for _, baud := range []int{57600, 115200, 230400, 460800, 921600} {
			want = append(want, fmt.Sprint(baud*8*n/100/size))
		}
		if strings.Join(row, " ") != strings.Join(want, " ") {
			t.Errorf("row %v, want %v", row, want)
		}
	}
}

// The limits of the page are those of the package.
func TestSpecLimits(t *testing.T) {
	_, section, _ := strings.Cut(readSpec(t), "### Limits\n")
	for _, want := range []string{
		fmt.Sprintf("CRC included | %d bytes |", MaxFrame),
		fmt.Sprintf("without delimiters | %d bytes |", MaxEncoded),
		fmt.Sprintf("| payload | %d bytes |", MaxPayload),
		fmt.Sprintf("| channels | %d |", MaxChannels),
		fmt.Sprintf("| samples in a frame | %d, and samples × channels at most %d |", MaxSamples, MaxValues),
		fmt.Sprintf("firmware version | %d bytes each |", MaxText),
		fmt.Sprintf("name of a channel | %d bytes |", MaxChannelName),
		fmt.Sprintf("host note | %d bytes |", MaxNote),
		fmt.Sprintf("first | %d frames |", Window-1),
	} {
		if !strings.Contains(section, want) {
			t.Errorf("the page does not say %q", want)
		}
	}
}
