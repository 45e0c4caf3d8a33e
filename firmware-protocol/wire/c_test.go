package wire

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// buildC compiles C sources of ../c, strictly and with sanitizers, and returns the program. Without gcc the test is skipped, but not
// where CI=true.
func buildC(t *testing.T, crcTable int, sources ...string) string {
	t.Helper()
	gcc, err := exec.LookPath("gcc")
	if err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatal("the C encoder must be checked in CI, but there is no gcc: install it")
		}
		t.Skip("SKIPPED, C ENCODER NOT CHECKED: there is no gcc; install it to check the C encoder")
	}
	program := filepath.Join(t.TempDir(), "program")
	args := []string{"-std=c99", "-Wall", "-Wextra", "-Werror", "-pedantic", "-fsanitize=address,undefined", "-fno-sanitize-recover=all",
		fmt.Sprintf("-DSW_CRC_TABLE=%d", crcTable), "-o", program}
	for _, s := range sources {
		args = append(args, filepath.Join("..", "c", s))
	}
	if out, err := exec.Command(gcc, args...).CombinedOutput(); err != nil {
		t.Fatalf("gcc: %v\n%s", err, out)
	}
	return program
}

// runC gives lines to the check program and returns its lines.
func runC(t *testing.T, program string, lines []string) []string {
	t.Helper()
	cmd := exec.Command(program)
	cmd.Stdin = strings.NewReader(strings.Join(lines, "\n") + "\n")
	var stderr bytes.Buffer
	cmd.Stderr = &stderr
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("C program: %v\n%s", err, stderr.String())
	}
	got := strings.Split(strings.TrimSuffix(string(out), "\n"), "\n")
	if len(got) != len(lines) {
		t.Fatalf("%d lines out for %d in", len(got), len(lines))
	}
	return got
}

// commandLine is what the check program says about a command.
func commandLine(f *Frame) string {
	var rate uint32
	var label Label
	switch m := f.Message.(type) {
	case *SetRate:
		rate = m.RateMilliHz
	case *Mark:
		label = m.Label
	}
	return fmt.Sprintf("%d:%d:%d:%d ", f.Type, f.Sequence, rate, label)
}

// commandsIn returns what a device makes of bytes from the host, by the Go decoder.
func commandsIn(d *Decoder, b []byte) string {
	var out strings.Builder
	for len(b) > 0 {
		var f *Frame
		if f, b = d.Next(b); f != nil && f.Type >= 0x80 && f.Type < 0xC0 && f.Err == nil {
			out.WriteString(commandLine(f))
		}
	}
	return out.String()
}

// The C encoder and decoder, with each way to compute the CRC, against the vectors and against Go.
func TestC(t *testing.T) {
	for _, table := range []int{0, 16} {
		t.Run(fmt.Sprintf("CRC table of %d", table), func(t *testing.T) {
			program := buildC(t, table, "check.c", "stanchion_wire.c")
			lines, want := vectorLines(t)
			compareC(t, program, lines, want)
			lines, want = randomLines(t, table)
			compareC(t, program, lines, want)
			lines = refusedLines()
			compareC(t, program, lines, make([]string, len(lines)))
		})
	}
}

func compareC(t *testing.T, program string, lines, want []string) {
	t.Helper()
	bad := 0
	for i, got := range runC(t, program, lines) {
		if got != want[i] && bad < 5 {
			bad++
			t.Errorf("%.200s:\n C says %s\nwant    %s", lines[i], got, want[i])
		}
	}
}

// vectorLines are lines for the check program, and what it must answer, from the vectors.
func vectorLines(t *testing.T) (lines, want []string) {
	for _, v := range readVectors(t) {
		if h, _ := parseWords(t, v.words); h.Type.FromDevice() {
			lines, want = append(lines, v.words), append(want, fmt.Sprintf("%X", v.frame))
		} else {
			lines, want = append(lines, fmt.Sprintf("receive %X", v.frame)), append(want, commandsIn(&Decoder{}, v.frame))
		}
	}
	return lines, want
}

// refusedLines break a limit each: the C encoder must write nothing.
func refusedLines() []string {
	channel := " 1 1 0 12 4095 1 0 "
	return []string{
		"marker 0 5 1000 1",
		"hello 1 0 0 1000000 0 dev 1.0 0",
		"hello 1 0 0 1000000 0 dev 1.0 17" + strings.Repeat(channel+"x", 17),
		"hello 1 0 0 1000000 0 " + strings.Repeat("d", 33) + " 1.0 1" + channel + "x",
		"hello 1 0 0 1000000 0 dev " + strings.Repeat("f", 33) + " 1" + channel + "x",
		"hello 1 0 0 1000000 0 dev 1.0 1" + channel + strings.Repeat("n", 25),
		"samples 1 0 0 0 0 0 1",
		"samples 1 0 0 0 0 1 0",
		"samples 1 0 0 0 0 1 17" + strings.Repeat(" 7", 17),
		"samples 1 0 0 0 0 249 2" + strings.Repeat(" 7", 498),
	}
}

// drawCMessage draws a message that the words of the check program can tell: its texts have no blanks.
func drawCMessage(t *rapid.T) Message {
	m := drawMessage(t)
	if h, ok := m.(*Hello); ok {
		h.Minor = VersionMinor
		plain := rapid.StringMatching(`[a-zA-Z0-9_.é]{0,12}`)
		h.Device, h.Firmware = plain.Draw(t, "device"), plain.Draw(t, "firmware")
		for i := range h.Channels {
			h.Channels[i].Name = plain.Draw(t, "name")
		}
	}
	return m
}

// randomLines are lines with random messages, many at once, since starting the program is slow.
func randomLines(t *testing.T, seed int) (lines, want []string) {
	gen := rapid.Custom(drawCMessage)
	var commands Decoder
	for i := range 1500 {
		m := gen.Example(seed*10_000 + i)
		h := Header{m.Type(), sessionFor(m), uint32(i * 1234567)}
		e := NewEncoder(h.Session)
		e.sequence = h.Sequence
		frame, err := e.Append(nil, m)
		if err != nil {
			t.Fatal(err)
		}
		switch {
		case h.Type >= 0x40 && h.Type < 0x80: // the C encoder has no frames of makers' own
		case h.Type.FromDevice():
			lines, want = append(lines, words(h, m)), append(want, fmt.Sprintf("%X", frame))
		default:
			// Damage every third command. What is left must be refused, or taken alike.
			if i%3 == 0 {
				frame[i%len(frame)] ^= 1 << (i % 7)
			}
			lines, want = append(lines, fmt.Sprintf("receive %X", frame)), append(want, commandsIn(&commands, frame))
		}
	}
	return lines, want
}

// The example device, run as a process: greets, obeys, streams without loss, ends.
func TestCExample(t *testing.T) {
	program := buildC(t, 16, "example.c", "stanchion_wire.c")
	var in []byte
	host := NewEncoder(0)
	for _, m := range []Message{&Identify{}, &SetRate{500_000}, &SetRate{1}, &Mark{LabelGate}, &Start{}} {
		var err error
		if in, err = host.Append(in, m); err != nil {
			t.Fatal(err)
		}
	}
	cmd := exec.Command(program, "5000", "77")
	cmd.Stdin = bytes.NewReader(in)
	out, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	r := NewReader(bytes.NewReader(out))
	var results []Result
	counts := map[Type]int{}
	next := 0
	for {
		f, err := r.Next()
		if err != nil {
			break
		}
		counts[f.Type]++
		switch m := f.Message.(type) {
		case *Reply:
			results = append(results, m.Result)
		case *Samples:
			for i := range m.Len() {
				phase := next % 2048
				if want := min(4*phase, 4*(2047-phase)); int(m.Values[2*i]) != want || int16(m.Values[2*i+1]) != -32 {
					t.Fatalf("sample %d: %d, want %d", next, m.Values[2*i:2*i+2], want)
				}
				if want := 0xFFFFFFFF - 500000 + 2000*float64(next); m.StampAt(i) != want {
					t.Fatalf("sample %d: stamp %v, want %v", next, m.StampAt(i), want)
				}
				next++
			}
		case *End:
			if m.Samples != 5000 || m.Reason != EndOther {
				t.Errorf("end: %+v", m)
			}
		}
	}
	want := map[Type]int{TypeHello: 3, TypeReply: 5, TypeMarker: 1, TypeSamples: 157, TypeStatus: 5, TypeEnd: 1}
	if fmt.Sprint(counts) != fmt.Sprint(want) || fmt.Sprint(results) != "[0 0 2 0 0]" {
		t.Errorf("frames %v, want %v; results %v", counts, want, results)
	}
	if l := r.Losses(); l.Samples != 5000 || l.SamplesMissing != 0 || l.FramesMissing != 0 || l.Damage.Pieces != 0 || l.Sessions != 1 {
		t.Errorf("losses: %+v", l)
	}
}
