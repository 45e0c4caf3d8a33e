package csvlog

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"stanchion/ingest"
)

// TestErrors holds logs that cannot be read: what is said, and what the hint names.
func TestErrors(t *testing.T) {
	good := "t_us,fork [counts]\n0,310\n1000,311\n2000,402\n"
	cases := []struct {
		name, text string
		o          Options
		want, hint string
	}{
		{"empty", "", Options{}, "log.csv: the log is empty", "recording"},
		{"blank", "\n\n \n", Options{}, "log.csv: the log is empty", "recording"},
		{"NULs", strings.Repeat("\x00", 5000), Options{}, "log.csv: the log is empty", "recording"},
		{"header only", "# x\nt_us,fork [counts]\n", Options{}, "log.csv:2: there is a header and no row of numbers after it", "recording"},
		{"JSON", "{\"t\":1,\"x\":2}\n{\"t\":2,\"x\":2}\n", Options{}, "log.csv: no row of numbers found", "--delimiter"},
		{"prose", "Dear reader,\nthis is a letter.\n", Options{}, "log.csv: no row of numbers found", "--delimiter"},
		{"spreadsheet", "PK\x03\x04\x00\x00\x08\x00abc\n1,2\n", Options{}, "log.csv: this is a ZIP archive or a spreadsheet, not text", "CSV"},
		{"binary", "\x7fELF\x04\x00\x00\x08\x00abc\n1,2\n", Options{}, "log.csv: this is binary data, not text", "CSV"},
		{"UTF-32", "\xff\xfe\x00\x001\x00\x00\x00", Options{}, "log.csv: the log is UTF-32 text, which is not read", "UTF-8"},
		{"gzip header", "\x1f\x8b\x01", Options{}, "log.csv: the gzip header is broken: unexpected EOF", ""},
		{"long line", strings.Repeat("x", 2<<20), Options{}, "log.csv: the first line is longer than 65536 bytes", "lines of text"},
		{"long line later", good + strings.Repeat("7", 2<<20), Options{}, "log.csv:5: the line is longer than 1 MiB", "lines of text"},
		{"one row", "t_us,fork [counts]\n0,310\n", Options{}, "log.csv: there is only one row that can be used, and a log needs at least two", "recording"},
		{"all NaN", "t_us,fork [counts]\n0,NaN\n1000,NaN\n", Options{}, "log.csv: none of 2 rows can be used\nlog.csv:2: travel \"NaN\" is no reading\nlog.csv:3: travel \"NaN\" is no reading", "--travel-column"},
		{"travel is text", "t_us,fork [counts],a\n0,x,1\n1000,y,2\n", Options{}, `log.csv: travel column 2 "fork [counts]" does not hold numbers`, `3 "a"`},
		{"time stands still", "t_us,fork [counts]\n5,1\n5,2\n5,3\n", Options{}, `log.csv: time column 1 "t_us" never changes: it is 5 throughout`, "--rate"},
		{"whole seconds", "time [s],fork [counts]\n5,1\n5,2\n5,3\n5,3\n5,3\n6,3\n", Options{}, `log.csv: time column 1 "time [s]" is too coarse: it stands still in 4 of 5 steps`, "--rate"},
		{"no time", "speed,fork [counts]\n5,1\n4,2\n", Options{}, `log.csv: no time column found among columns 1 "speed", 2 "fork [counts]"`, "--rate"},
		{"one column", "1200\n1210\n1250\n", Options{}, "log.csv: no time column found among columns 1", "--rate"},
		{"row numbers", "0,1200\n1,1300\n2,1100\n3,1100\n", Options{}, "log.csv: column 1 counts in steps of 1: it could be time or a row number", "--time-unit"},
		{"sample numbers", "sample,adc\n0,1200\n1,1300\n2,1100\n", Options{}, `log.csv: column 1 "sample" numbers the samples, and nothing tells how far they are apart`, "--rate"},
		{"no unit fits the time", "time,adc\n0,1\n30,2\n60,3\n", Options{}, `log.csv: time column 1 "time" has no unit, and no unit makes steps of 30 a sample rate between 50 and 20000 Hz`, "--time-unit"},
		{"unit of time not known", "time [ticks],adc\n0,1\n30,2\n60,3\n", Options{}, `log.csv: time column 1 "time [ticks]" is in a unit that is not known`, "--tick"},
		{"travel in bar", "t_us,fork [bar]\n0,1\n1000,2\n2000,3\n", Options{TravelColumn: "2"}, `log.csv: travel column 2 "fork [bar]" is in a unit that is not known`, "--travel-unit"},
		{"travel could be mm or %", "t_us,fork\n0,1.5\n1000,99.5\n2000,3\n", Options{}, `log.csv: travel column 2 "fork" has no unit, and numbers from 1.5 to 99.5 could be several`, "--travel-unit"},
		{"travel could be mm or counts", "t_us,fork\n0,1\n1000,150\n2000,3\n", Options{}, `log.csv: travel column 2 "fork" has no unit, and whole numbers from 1 to 150 could be several`, "--travel-unit"},
		{"several could be travel", "time_us,a,b\n0,1,2\n1000,2,3\n2000,3,4\n", Options{}, `log.csv: several columns could be travel: 2 "a", 3 "b"`, "--travel-column"},
		{"no travel", "time_us,speed\n0,1\n1000,2\n2000,3\n", Options{}, `log.csv: no travel column found among columns 1 "time_us", 2 "speed"`, "--travel-column"},
		{"no such column", good, Options{TravelColumn: "shock"}, `log.csv: there is no travel column "shock"`, `1 "t_us", 2 "fork [counts]"`},
		{"no such number", good, Options{TimeColumn: "3"}, `log.csv: there is no time column "3"`, "--time-column"},
		{"both", good, Options{TimeColumn: "2", TravelColumn: "2"}, `log.csv: column 2 "fork [counts]" cannot be both time and travel`, "--time-column"},
		{"not a date", good, Options{TimeUnit: "date"}, `log.csv: time column 1 "t_us" does not hold what --time-unit=date says`, "--time-unit"},
		{"decimal commas between commas", "time_s,travel_mm\n0,000,1,5\n0,001,1,6\n", Options{}, "log.csv:2: rows have twice as many fields as the header", "semicolons"},
		{"thousands", "t_us;fork [counts]\n0;310\n500;311\n1,000;402\n1,500;1,402\n", Options{}, `log.csv:2: the commas in column 1 "t_us" could group thousands or be decimal commas`, "--decimal-comma"},
		{"bad rows", good + "a,b\n4000,c\n", Options{}, "log.csv: 2 of 5 rows cannot be used (40.0 %, allowed are 5 %)\nlog.csv:5: time \"a\" is not a number\nlog.csv:6: travel \"c\" is not a number", "--max-bad"},
		{"no bad row allowed", good + strings.Repeat("5000,1\n", 100) + "a,b\n", Options{MaxBadShare: -1}, "log.csv: 1 of 104 rows cannot be used (1.0 %, allowed are 0 %)\nlog.csv:105: time \"a\" is not a number", "--max-bad"},
		{"too much text", good, Options{MaxBytes: 30}, "log.csv: there are more than 30 bytes of text", "--max-bytes"},
		{"too many lines to skip", good, Options{SkipLines: 9}, "log.csv: the log has only 5 lines", "--skip-lines"},
		{"bad option", good, Options{Delimiter: "x"}, `log.csv: delimiter "x" is not known`, "space"},
		{"bad rate", good, Options{RateHz: -1}, "log.csv: sample rate -1 Hz is not possible", "1000"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			r, err := readString(c.text, c.o)
			var e *Error
			if r != nil || !errors.As(err, &e) {
				t.Fatalf("recording %v, error %v", r, err)
			}
			if err.Error() != c.want {
				t.Errorf("got  %s\nwant %s", err, c.want)
			}
			if !strings.Contains(e.Hint, c.hint) {
				t.Errorf("hint %q names no %s", e.Hint, c.hint)
			}
		})
	}
}

func TestBadRowReasons(t *testing.T) {
	reasons := map[string]string{
		"1000,,2":                   "travel is empty",
		"2000,NaN,2":                `travel "NaN" is no reading`,
		",5,2":                      "time is empty",
		"4000,5":                    "2 fields where there should be 3",
		"5000,5,6,7":                "4 fields where there should be 3",
		"6000,1e999,2":              `travel "1e999" is not a number`,
		"7000,\"5,2":                "a quote is opened and not closed",
		"7000,\"5\"6,2":             `text follows a closing quote: "6"`,
		"8000,\x00,2":               "the row holds NUL bytes, as are left where writing was cut off",
		"t_us,fork,speed":           `time "t_us" is not a number`,
		"9000,0x10,2":               `travel "0x10" is not a number`,
		"9000,1_0,2":                `travel "1_0" is not a number`,
		"2026-01-01T00:00:00Z,10,2": `time "2026-01-01T00:00:00Z" is not a number`,
		"9000," + strings.Repeat("ü", 60) + ",1": `travel "` + strings.Repeat("ü", 20) + `"… is not a number`,
	}
	for row, want := range reasons {
		r, err := readString("t_us,fork [counts],speed\n0,310,1\n"+row+"\n10000,312,\n11000,31", Options{MaxBadShare: 0.9})
		if err != nil {
			t.Errorf("%q: %v", row, err)
			continue
		}
		bad := []ingest.BadRow{{Line: 3, Reason: want}, {Line: 5, Reason: "2 fields where there should be 3"}}
		if r.Rows.Data != 4 || r.Rows.Bad != 2 || !same(r.Travel, []float64{310, 312}) || !slices.Equal(r.Rows.First, bad) {
			t.Errorf("%q: %+v, %v", row, r.Rows, r.Travel)
		}
	}
}

func TestBadFiles(t *testing.T) {
	dir := t.TempDir()
	for path, cause := range map[string]error{filepath.Join(dir, "missing.csv"): os.ErrNotExist, dir: nil} {
		_, err := Read(context.Background(), path, Options{})
		var e *Error
		if !errors.As(err, &e) || e.Path != path || e.Hint == "" || cause != nil && !errors.Is(err, cause) {
			t.Errorf("%s: %v", path, err)
		}
		if n := strings.Count(err.Error(), path); n != 1 {
			t.Errorf("%s is named %d times in %v", path, n, err)
		}
	}
	if os.Getuid() != 0 { // the superuser may read all
		path := filepath.Join(dir, "locked.csv")
		if err := os.WriteFile(path, []byte("t_us,adc\n0,1\n"), 0); err != nil {
			t.Fatal(err)
		}
		if _, err := Read(context.Background(), path, Options{}); !errors.Is(err, os.ErrPermission) {
			t.Errorf("no permission: %v", err)
		}
	}
}

// TestBomb reads 4 MiB of text from a few kB of gzip, and expects to be stopped at the limit.
func TestBomb(t *testing.T) {
	text := "t_us,adc\n" + strings.Repeat("1,2\n", 1<<20)
	_, err := readString(zipped(t, text), Options{MaxBytes: 1 << 20})
	if err == nil || err.Error() != "log.csv: there are more than 1048576 bytes of text" {
		t.Errorf("%v", err)
	}
}

func TestLateSensor(t *testing.T) {
	// The sensor gives nothing for longer than what is looked at first; the column's name still decides.
	r, err := readString("t_us,fork [counts],a\n"+strings.Repeat("1,,5\n", 20000)+strings.Repeat("2,300,5\n3,301,6\n", 20000), Options{MaxBadShare: 0.5})
	if err != nil {
		t.Fatal(err)
	}
	if len(r.Travel) != 40000 || r.Rows.Bad != 20000 || len(r.Extra) != 1 {
		t.Errorf("%d samples, %+v", len(r.Travel), r.Rows)
	}
}

// TestPowerCut reads a log whose end the file system filled with NULs, far more than a line may have.
func TestPowerCut(t *testing.T) {
	text := "t_us,adc\n" + strings.Repeat("1,2\n2,3\n", 50) + "3,4" + strings.Repeat("\x00", 3<<20)
	r, err := readString(text, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if len(r.Travel) != 100 || r.Rows.Bad != 1 || !strings.Contains(r.Rows.First[0].Reason, "NUL") {
		t.Errorf("%d samples, %+v", len(r.Travel), r.Rows)
	}
}

// endless yields rows for ever.
type endless struct{ n int }

func (e *endless) Read(p []byte) (int, error) {
	e.n++
	return copy(p, fmt.Sprintf("%d,%d\n", e.n*1000, e.n%4096)), nil
}

func TestCancel(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	go func() {
		time.Sleep(20 * time.Millisecond)
		cancel()
	}()
	_, err := ReadFrom(ctx, io.MultiReader(strings.NewReader("t_us,adc\n"), &endless{}), "pipe", Options{})
	if !errors.Is(err, context.Canceled) {
		t.Errorf("%v", err)
	}
}

var errDisk = errors.New("disk trouble")

func TestReadErrorStops(t *testing.T) {
	for _, n := range []int64{0, 5, 30000, 300000} {
		r := io.MultiReader(io.LimitReader(io.MultiReader(strings.NewReader("t_us,adc\n"), &endless{}), n), failing{})
		if _, err := ReadFrom(context.Background(), r, "log.csv", Options{}); !errors.Is(err, errDisk) {
			t.Errorf("after %d bytes: %v", n, err)
		}
	}
}

type failing struct{}

func (failing) Read([]byte) (int, error) { return 0, errDisk }

func TestProgress(t *testing.T) {
	path := filepath.Join(t.TempDir(), "log.csv")
	text := []byte(roughLog(20000))
	if err := os.WriteFile(path, text, 0o600); err != nil {
		t.Fatal(err)
	}
	last := int64(0)
	_, err := Read(context.Background(), path, Options{chunkSize: 4096, Progress: func(done, total int64) {
		if done <= last || total != int64(len(text)) {
			t.Errorf("%d of %d after %d", done, total, last)
		}
		last = done
	}})
	if err != nil || last != int64(len(text)) {
		t.Errorf("%v, progress ended at %d of %d", err, last, len(text))
	}
}

func TestCautions(t *testing.T) {
	for _, c := range []struct {
		text string
		o    Options
		want string
	}{
		{"t_us,travel [mm]\n0,5\n1000,5\n2000,5\n", Options{}, "travel never changes: it is 5 throughout; check that the sensor was connected"},
		{"t_us,fork [mm],travel [mm]\n0,5,1\n1000,6,2\n2000,7,3\n", Options{}, `column 3 "travel [mm]" was taken as travel and not column 2 "fork [mm]"; if that is wrong, set the travel column`},
		{"t_us,fork_mm,fork_raw\n0,5,1\n1000,6,2\n2000,7,3\n", Options{TravelUnit: "counts"}, `column 3 "fork_raw" was taken as travel and not column 2 "fork_mm"; if that is wrong, set the travel column`},
		{"t_us,left [mm],right [mm]\n0,5,1\n1000,6,2\n", Options{}, `column 2 "left [mm]" was taken as travel and not column 3 "right [mm]"; if that is wrong, set the travel column`},
		{"t_us,x [mm]\n0,5\n1000,6\n", Options{TravelUnit: "counts"}, "travel is read in counts as set, though the header says mm"},
		{"t_us,travel [mm]\n0,5\n1000,6\n", Options{TimeUnit: "ms"}, "time is read in ms as set, though the header says us"},
		{"t_us,travel [mm],mark\n" + strings.Repeat("0,5,1\n1,6,2\n", 6000), Options{}, `column 3 "mark" changes too often for markers: the first 10000 are kept`},
		{"t_us,travel\n0,0.5\n1000,3.1\n", Options{}, "the unit of travel was guessed: volts, from values of 0.5 to 3.1; if that is wrong, set the travel unit"},
		{"t_us,travel\n0,-0.5\n1000,140.1\n", Options{}, "the unit of travel was guessed: mm, from values of -0.5 to 140.1; if that is wrong, set the travel unit"},
		{"t_us,travel\n0,0\n1000,16777215\n", Options{}, "the unit of travel was guessed: counts, from values of 0 to 1.67772e+07; if that is wrong, set the travel unit"},
	} {
		r, err := readString(c.text, c.o)
		if err != nil {
			t.Errorf("%q: %v", c.text[:20], err)
			continue
		}
		if len(r.Cautions) == 0 || r.Cautions[len(r.Cautions)-1] != c.want {
			t.Errorf("got  %q\nwant %q", r.Cautions, c.want)
		}
	}
}

// A line of 10⁹ bytes, first or later, is given up soon: it is neither read to its end nor kept.
func TestLineOfABillionBytes(t *testing.T) {
	for name, c := range map[string]struct{ before, want string }{
		"first": {"", "the first line is longer"},
		"later": {"t_us,fork [counts]\n0,310\n1000,311\n2000,402\n", "the line is longer"},
	} {
		line := &sevens{left: 1e9}
		_, err := ReadFrom(context.Background(), io.MultiReader(strings.NewReader(c.before), line), "log.csv", Options{})
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v", name, err)
		}
		if read := int(1e9) - line.left; read > 64<<20 {
			t.Errorf("%s: %d bytes were read before the line was given up", name, read)
		}
	}
}

// sevens reads as so many digits 7.
type sevens struct{ left int }

func (s *sevens) Read(p []byte) (int, error) {
	n := min(len(p), s.left)
	if n == 0 {
		return 0, io.EOF
	}
	for i := range p[:n] {
		p[i] = '7'
	}
	s.left -= n
	return n, nil
}
