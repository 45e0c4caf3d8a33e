package main

import (
	"fmt"
	"hash/fnv"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"

	"stanchion/ingest"
	"stanchion/sampledata"
	"stanchion/sampledata/ridesim"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"stanchion": main})
}

// The scripts check the program as a person meets it: what it prints, what it leaves behind, and its exit code.
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir: filepath.Join("testdata", "script"),
		Setup: func(env *testscript.Env) error {
			for _, name := range []string{"fork.toml", "sag.csv.gz", "noisy-500hz.csv.gz", "enduro-run-a.csv.gz", "enduro-run-a.gpx", "enduro-run-b.gpx"} {
				b, err := sampledata.ReadFile(name)
				if err != nil {
					return err
				}
				if err := os.WriteFile(filepath.Join(env.WorkDir, name), b, 0o644); err != nil {
					return err
				}
			}
			return nil
		},
		Condition: func(cond string) (bool, error) {
			if cond == "smalldisk" {
				return canMount(t), nil
			}
			return false, fmt.Errorf("unknown condition %q", cond)
		},
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"waitfile": waitFile, "exitcode": exitCode, "fits": fits, "mountsmall": mountSmall, "onlyfiles": onlyFiles,
			"ride": ride,
		},
	})
}

// ride runs "ride CLICKS FILE…": it simulates a run of one short trail for each file, with the rebound adjuster at CLICKS. The name of the
// file is the seed of what differs from run to run.
func ride(ts *testscript.TestScript, neg bool, args []string) {
	ground := []ridesim.Section{
		{Kind: "rough", LengthM: 32, GdN0: 4500e-6, SpeedMS: 6}, {Kind: "smooth", LengthM: 24, GdN0: 900e-6, SpeedMS: 6.5},
		{Kind: "rocks", LengthM: 30, GdN0: 11000e-6, SpeedMS: 5.2}, {Kind: "hardpack", LengthM: 20, GdN0: 300e-6, SpeedMS: 6.5},
		{Kind: "rough", LengthM: 26, GdN0: 5500e-6, SpeedMS: 6}, {Kind: "stop", LengthM: 25, GdN0: 400e-6},
	}
	for _, name := range args[1:] {
		p := ridesim.Params{Seed: 3, Fork: ridesim.DefaultFork(), Sensor: ridesim.Sensor{RateHz: 500, Unit: ingest.UnitMM, NoiseMM: 0.02},
			Course: ridesim.Course{StartHoldS: 5, EndHoldS: 1, EnvelopeM: 0.16, SwayN: 20, Sections: ground}}
		seed := fnv.New64a()
		seed.Write([]byte(name))
		p = p.Again(seed.Sum64()|1, ridesim.DefaultVariation())
		p.Fork.Damper.Rebound = p.Fork.Damper.Rebound.AtClicks(atoi(ts, args[0]), 9, 1.2)
		log, _, err := ridesim.Ride(p)
		ts.Check(err)
		f, err := os.Create(ts.MkAbs(name))
		ts.Check(err)
		format := ridesim.PlainCSV(ingest.UnitMM)
		format.Speed, format.Marker = "", ""
		ts.Check(format.Write(f, &log))
		ts.Check(f.Close())
	}
}

// exitCode runs "exitcode N command…": the command must end with that code.
func exitCode(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: exitcode N command args...")
	}
	err := ts.Exec(args[1], args[2:]...)
	got := "0"
	if err != nil {
		_, after, ok := strings.Cut(err.Error(), "exit status ")
		if !ok {
			ts.Fatalf("%s: %v", args[1], err)
		}
		got = after
	}
	if got != args[0] {
		ts.Fatalf("exit code %s, want %s", got, args[0])
	}
}

// fits runs "fits FILE columns lines": no line may be longer and there may be no more lines.
func fits(ts *testscript.TestScript, neg bool, args []string) {
	text := ts.ReadFile(args[0])
	columns, lines := atoi(ts, args[1]), atoi(ts, args[2])
	all := strings.Split(strings.TrimRight(text, "\n"), "\n")
	if len(all) > lines {
		ts.Fatalf("%d lines, want %d at the most", len(all), lines)
	}
	for _, line := range all {
		if n := len([]rune(line)); n > columns {
			ts.Fatalf("%d columns, want %d at the most: %s", n, columns, line)
		}
	}
}

// waitFile runs "waitfile FILE [BYTES]": it waits until the file is there and has so many bytes.
func waitFile(ts *testscript.TestScript, neg bool, args []string) {
	size := int64(0)
	if len(args) > 1 {
		size = int64(atoi(ts, args[1]))
	}
	for range 1200 {
		if info, err := os.Stat(ts.MkAbs(args[0])); err == nil && info.Size() >= size {
			return
		}
		time.Sleep(50 * time.Millisecond)
	}
	ts.Fatalf("%s did not come", args[0])
}

func atoi(ts *testscript.TestScript, s string) int {
	n := 0
	for _, c := range s {
		if c < '0' || c > '9' {
			ts.Fatalf("%q is not a number", s)
		}
		n = 10*n + int(c-'0')
	}
	return n
}

// onlyFiles runs "onlyfiles DIR name…": the folder must hold exactly these.
func onlyFiles(ts *testscript.TestScript, neg bool, args []string) {
	entries, err := os.ReadDir(ts.MkAbs(args[0]))
	ts.Check(err)
	var got []string
	for _, e := range entries {
		got = append(got, e.Name())
	}
	if strings.Join(got, " ") != strings.Join(args[1:], " ") {
		ts.Fatalf("%s holds %v, want %v", args[0], got, args[1:])
	}
}
