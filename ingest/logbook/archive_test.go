package logbook

import (
	"archive/zip"
	"bytes"
	"context"
	"encoding/json"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func exported(t testing.TB, b *Logbook) []byte {
	t.Helper()
	var out bytes.Buffer
	if err := b.Export(context.Background(), &out, nil); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

func imported(b *Logbook, data []byte) (ImportReport, error) {
	return b.Import(context.Background(), bytes.NewReader(data), int64(len(data)), nil)
}

func TestArchiveRoundTrip(t *testing.T) {
	b := newBook(t)
	dir := t.TempDir()
	for i := range 6 {
		mustAdd(t, b, newRun(t, dir, i))
	}
	if err := b.PlanService(t.Context(), testFork.Name, "seals", 50); err != nil {
		t.Fatal(err)
	}
	data := exported(t, b)
	if again := exported(t, b); !bytes.Equal(again, data) {
		t.Error("the same logbook gives other bytes")
	}
	c := newBook(t)
	mustAdd(t, c, newRun(t, dir, 3)) // one is there already
	report, err := imported(c, data)
	if err != nil || report.Added != 5 || report.Had != 1 {
		t.Fatalf("%+v, %v", report, err)
	}
	mustCheck(t, c)
	want, _ := b.Runs(t.Context(), Query{})
	got, _ := c.Runs(t.Context(), Query{})
	for i := range want {
		want[i].ID, got[i].ID = 0, 0
		want[i].AddedAt, got[i].AddedAt = noon, noon
		if !sameJSON(want[i], got[i]) {
			t.Errorf("run %d differs", i)
		}
	}
	if due, _ := c.Due(t.Context(), testFork.Name); len(due) != 1 {
		t.Error("the service plan did not come along")
	}
	if report, err := imported(c, data); err != nil || report.Added != 0 || report.Had != 6 {
		t.Errorf("a second time: %+v, %v", report, err)
	}
}

// rezip copies an archive with changes: name → content (nil takes the file out).
func rezip(t testing.TB, data []byte, changes map[string][]byte) []byte {
	t.Helper()
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	w := zip.NewWriter(&out)
	put := func(name string, content []byte) {
		f, err := w.Create(name)
		if err == nil {
			_, err = f.Write(content)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	for _, f := range z.File {
		if _, changed := changes[f.Name]; changed {
			continue
		}
		if err := w.Copy(f); err != nil {
			t.Fatal(err)
		}
	}
	for name, content := range changes {
		if content != nil {
			put(name, content)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// noise is text that does not shrink.
func noise(n int) []byte {
	rng := rand.New(rand.NewPCG(1, 1))
	out := make([]byte, n)
	for i := range out {
		out[i] = byte(rng.IntN(256))
	}
	return out
}

func TestImportRefuses(t *testing.T) {
	b := newBook(t)
	r := mustAdd(t, b, newRun(t, t.TempDir(), 0))
	good := exported(t, b)
	entryName, recName := "entries/"+r.Hash+".json", "recordings/"+r.Hash+".csv"
	other := strings.Repeat("0", 64)
	edited := func(edit func(e *entry)) []byte {
		e, err := b.openEntry(r.Hash)
		if err != nil {
			t.Fatal(err)
		}
		edit(&e)
		data, err := json.Marshal(e)
		if err != nil {
			t.Fatal(err)
		}
		return data
	}
	for _, c := range []struct {
		name, want string
		data       []byte
	}{
		{"junk", "not an archive", []byte("junk")},
		{"path traversal", "does not belong", rezip(t, good, map[string][]byte{"../outside.txt": []byte("x")})},
		{"traversal in a folder", "does not belong", rezip(t, good, map[string][]byte{"recordings/../../outside.txt": []byte("x")})},
		{"absolute", "does not belong", rezip(t, good, map[string][]byte{"/outside.txt": []byte("x")})},
		{"backslash", "does not belong", rezip(t, good, map[string][]byte{`recordings\..\outside.txt`: []byte("x")})},
		{"odd ending", "does not belong", rezip(t, good, map[string][]byte{"recordings/" + other + ".exe": []byte("x")})},
		{"bomb", "times its size", rezip(t, good, map[string][]byte{"recordings/" + other + ".csv": make([]byte, 64<<20)})},
		{"large entry", "larger than", rezip(t, good, map[string][]byte{"entries/" + other + ".json": noise(maxEntry + 1)})},
		{"lost recording", "lacks the file", rezip(t, good, map[string][]byte{recName: nil})},
		{"changed recording", "not what its name says", rezip(t, good, map[string][]byte{recName: []byte("other")})},
		{"entry of another", "another run", rezip(t, good, map[string][]byte{"entries/" + other + ".json": edited(func(*entry) {})})},
		{"no JSON", "invalid character", rezip(t, good, map[string][]byte{entryName: []byte("no")})},
		{"newer entry", "newer stanchion", rezip(t, good, map[string][]byte{entryName: edited(func(e *entry) { e.Version = 99 })})},
		{"hostile track", "SHA-256", rezip(t, good, map[string][]byte{entryName: edited(func(e *entry) { e.Run.TrackHash = "../../x" })})},
		{"odd setup", "pressure_psi", rezip(t, good, map[string][]byte{entryName: edited(func(e *entry) { e.Run.Setup.PressurePSI = ptr(1e9) })})},
	} {
		t.Run(c.name, func(t *testing.T) {
			fresh := newBook(t)
			_, err := imported(fresh, c.data)
			if err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("error %v, want %q", err, c.want)
			}
			if runs, _ := fresh.Runs(t.Context(), Query{}); len(runs) != 0 {
				t.Errorf("%d runs were filed", len(runs))
			}
			kept, _ := os.ReadDir(filepath.Join(fresh.dir, recordingsDir))
			if outside, _ := filepath.Glob(filepath.Join(filepath.Dir(fresh.dir), "outside*")); len(kept)+len(outside) > 0 {
				t.Errorf("left behind: %v %v", kept, outside)
			}
		})
	}
}

func FuzzImport(f *testing.F) {
	b := newBook(f)
	mustAdd(f, b, newRun(f, f.TempDir(), 0))
	good := exported(f, b)
	f.Add(good)
	f.Add(rezip(f, good, map[string][]byte{"../x": []byte("x")}))
	f.Fuzz(func(t *testing.T, data []byte) {
		z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
		if err != nil {
			return
		}
		a, err := openArchive(z)
		if err != nil {
			return
		}
		for name := range a.files {
			if name != filepath.Base(name) || !isHash(name[:64]) {
				t.Errorf("a file named %q would be written", name)
			}
		}
		for i := range a.entries {
			if err := a.entries[i].Run.check(); err != nil {
				t.Error(err)
			}
		}
	})
}

// Files that are gone, spoilt or stray are found, and a lost entry is written again.
func TestCheckFindsLoss(t *testing.T) {
	b := newBook(t)
	dir := t.TempDir()
	lost, spoilt, bare := mustAdd(t, b, newRun(t, dir, 0)), mustAdd(t, b, newRun(t, dir, 1)), mustAdd(t, b, newRun(t, dir, 2))
	if err := os.Remove(b.RecordingPath(&lost)); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(b.RecordingPath(&spoilt), []byte("spoilt"), 0o644); err != nil {
		t.Fatal(err)
	}
	if err := os.Remove(b.entryPath(bare.Hash)); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(b.dir, recordingsDir, "stray.txt"), nil, 0o644); err != nil {
		t.Fatal(err)
	}
	report, err := b.Check(t.Context(), nil)
	if err != nil {
		t.Fatal(err)
	}
	all := strings.Join(report.Problems, "\n")
	if len(report.Problems) != 2 || !strings.Contains(all, "is missing") || !strings.Contains(all, "not what was filed") {
		t.Errorf("problems %q", report.Problems)
	}
	if len(report.Mended) != 1 || len(report.Loose) != 1 {
		t.Errorf("mended %q, loose %q", report.Mended, report.Loose)
	}
	if _, err := b.openEntry(bare.Hash); err != nil {
		t.Errorf("the entry was not written again: %v", err)
	}
}
