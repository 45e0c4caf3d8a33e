package logbook

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"
)

// childVar makes the test program file runs until it is killed: DIR of the logbook, folder of recordings, first number.
const childVar = "STANCHION_LOGBOOK_CHILD"

func TestMain(m *testing.M) {
	if args := os.Getenv(childVar); args != "" {
		fileUntilKilled(strings.Split(args, "\x1f"))
		return
	}
	os.Exit(m.Run())
}

// fileUntilKilled files run after run and prints the hash of each that is filed.
func fileUntilKilled(args []string) {
	b, err := Create(context.Background(), args[0])
	if err != nil {
		fmt.Println("error", err)
		return
	}
	t := &testing.T{}
	var first int
	fmt.Sscan(args[2], &first)
	for i := first; ; i++ {
		r, err := b.Add(context.Background(), newRun(t, args[1], i))
		if err != nil {
			fmt.Println("error", err)
			return
		}
		fmt.Println("filed", r.Hash)
	}
}

// child starts a process that files runs into dir and returns what it says.
func child(t *testing.T, dir, from string, first int) (*exec.Cmd, *bufio.Scanner) {
	t.Helper()
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), childVar+"="+strings.Join([]string{dir, from, fmt.Sprint(first)}, "\x1f"))
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	return cmd, bufio.NewScanner(out)
}

// A program that is killed while it files, at 200 random moments where everything optional is mandatory, loses nothing that it
// said was filed, and leaves a sound book.
func TestKilledWhileFiling(t *testing.T) {
	kills := 8
	if os.Getenv("CI") == "true" && !testing.Short() {
		kills = 200
	}
	b := newBook(t)
	from := t.TempDir()
	filed := map[string]bool{}
	rng := rand.New(rand.NewPCG(1, 2))
	for i := range kills {
		cmd, says := child(t, b.dir, from, i*100000)
		if !says.Scan() { // the first is filed: now it is in full swing
			t.Fatal("the child said nothing")
		}
		go func() {
			time.Sleep(time.Duration(rng.IntN(25000)) * time.Microsecond)
			cmd.Process.Kill()
		}()
		for ok := true; ok; ok = says.Scan() {
			word, rest, _ := strings.Cut(says.Text(), " ")
			if word != "filed" {
				t.Fatalf("the child said %s", says.Text())
			}
			filed[rest] = true
		}
		cmd.Wait()
	}
	report := mustCheck(t, b)
	runs, err := b.Runs(t.Context(), Query{})
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range runs {
		delete(filed, r.Hash)
	}
	if len(filed) > 0 {
		t.Errorf("%d runs that were filed are lost", len(filed))
	}
	if report.Files != len(runs) {
		t.Errorf("%d runs, but %d whole recordings", len(runs), report.Files)
	}
	t.Logf("%d kills, %d runs filed, %d loose files", kills, len(runs), len(report.Loose))
}

// Two processes and several goroutines file at the same time.
func TestSeveralAtOnce(t *testing.T) {
	b := newBook(t)
	from := t.TempDir()
	cmd, says := child(t, b.dir, from, 1_000_000)
	var wg sync.WaitGroup
	for g := range 3 {
		wg.Go(func() {
			for i := range 10 {
				if _, err := b.Add(t.Context(), newRun(t, from, g*1000+i)); err != nil {
					t.Error(err)
				}
			}
		})
	}
	theirs := 0
	for theirs < 10 && says.Scan() {
		if !strings.HasPrefix(says.Text(), "filed") {
			t.Fatalf("the child said %s", says.Text())
		}
		theirs++
	}
	wg.Wait()
	cmd.Process.Kill()
	cmd.Wait()
	runs, err := b.Runs(t.Context(), Query{})
	if err != nil || len(runs) < 30+theirs {
		t.Errorf("%d runs, %v; want %d or more", len(runs), err, 30+theirs)
	}
	mustCheck(t, b)
}

// A damaged page is told in clear words, and the book is made again from the entries without loss.
func TestDamagedPage(t *testing.T) {
	b := newBook(t)
	dir := t.TempDir()
	var want []Run
	for i := range 40 {
		n := newRun(t, dir, i)
		n.Note = strings.Repeat("long note ", 100)
		want = append(want, mustAdd(t, b, n))
	}
	if err := b.Mount(t.Context(), testFork, "", Setup{Spacers: ptr(2)}); err != nil {
		t.Fatal(err)
	}
	if err := b.PlanService(t.Context(), testFork.Name, "seals", 50); err != nil {
		t.Fatal(err)
	}
	b.Close()
	path := filepath.Join(b.dir, bookFile)
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	for i := 4096; i < len(data); i++ {
		if i%4096 < 2048 {
			data[i] = 0xA5
		}
	}
	if err := os.WriteFile(path, data, 0o644); err != nil {
		t.Fatal(err)
	}
	if damaged, err := Open(t.Context(), b.dir); err == nil {
		report, err := damaged.Check(t.Context(), nil)
		damaged.Close()
		if err == nil && len(report.Problems) == 0 {
			t.Error("damage was not noticed")
		}
		if all := fmt.Sprint(report.Problems, err); !strings.Contains(all, "damaged") && !strings.Contains(all, bookFile) {
			t.Errorf("not in clear words: %s", all)
		}
	} else if !strings.Contains(err.Error(), "damaged") {
		t.Errorf("not in clear words: %v", err)
	}
	report, err := Rebuild(t.Context(), b.dir, nil)
	if err != nil || report.Runs != len(want) || len(report.Problems) > 0 {
		t.Fatalf("rebuilt %+v, %v", report, err)
	}
	if got, _ := os.ReadFile(report.Old); string(got) != string(data) {
		t.Error("the damaged book was not kept")
	}
	again, err := Open(t.Context(), b.dir)
	if err != nil {
		t.Fatal(err)
	}
	defer again.Close()
	for _, w := range want {
		got, err := again.Run(t.Context(), w.Hash)
		w.ID = got.ID
		if err != nil || !sameJSON(got, w) {
			t.Errorf("run %s: %v", w.Name, err)
		}
	}
	if s, _ := again.Mounted(t.Context(), testFork.Name); s.Spacers == nil || *s.Spacers != 2 {
		t.Error("what was mounted is lost")
	}
	if due, _ := again.Due(t.Context(), testFork.Name); len(due) != 1 {
		t.Error("the service plan is lost")
	}
	mustCheck(t, again)
}

// Not a database at all; a database of another program; a book from the future: said, and not touched.
func TestForeignFiles(t *testing.T) {
	foreign := func(t *testing.T, statements string) string {
		dir := t.TempDir()
		db, err := connect(filepath.Join(dir, bookFile))
		if err != nil {
			t.Fatal(err)
		}
		defer db.Close()
		if _, err := db.Exec(statements); err != nil {
			t.Fatal(err)
		}
		return dir
	}
	junk := t.TempDir()
	if err := os.WriteFile(filepath.Join(junk, bookFile), []byte(strings.Repeat("not a database ", 100)), 0o644); err != nil {
		t.Fatal(err)
	}
	for want, dir := range map[string]string{
		"not a logbook":             junk,
		"of another program":        foreign(t, "CREATE TABLE t (x); PRAGMA user_version = 1"),
		"database of another":       foreign(t, "CREATE TABLE t (x)"),
		"made by a newer stanchion": foreign(t, fmt.Sprintf("CREATE TABLE t (x); PRAGMA application_id = %d; PRAGMA user_version = 99", applicationID)),
	} {
		path := filepath.Join(dir, bookFile)
		before, _ := os.ReadFile(path)
		_, err := Open(t.Context(), dir)
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("error %v, want %q", err, want)
		}
		if after, _ := os.ReadFile(path); string(after) != string(before) {
			t.Errorf("%s: the file was changed", want)
		}
	}
	if _, err := Open(t.Context(), t.TempDir()); !errors.Is(err, ErrNone) {
		t.Errorf("empty folder: %v", err)
	}
}

// A book of an older version is brought up to date with a copy put aside, and an older program then refuses it.
func TestOlderSchema(t *testing.T) {
	b := newBook(t)
	r := mustAdd(t, b, newRun(t, t.TempDir(), 0))
	b.Close()
	now, err := steps()
	if err != nil {
		t.Fatal(err)
	}
	later, err := open(t.Context(), b.dir, append(now, "ALTER TABLE trail ADD COLUMN length_m REAL"))
	if err != nil {
		t.Fatal(err)
	}
	if got, err := later.Run(t.Context(), r.Hash); err != nil || got.Name != r.Name {
		t.Errorf("after the step: %+v, %v", got, err)
	}
	later.Close()
	if _, err := os.Stat(filepath.Join(b.dir, fmt.Sprintf("%s.version-%d", bookFile, len(now)))); err != nil {
		t.Errorf("no copy of the old book: %v", err)
	}
	if _, err := Open(t.Context(), b.dir); err == nil || !strings.Contains(err.Error(), "newer") {
		t.Errorf("an older program: %v", err)
	}
	broken, err := open(t.Context(), b.dir, append(now, "SELECT 1", "CREATE TABLE half (x); NONSENSE"))
	if err == nil {
		broken.Close()
		t.Fatal("a step that fails was taken")
	}
	if _, err := open(t.Context(), b.dir, append(now, "SELECT 1", "CREATE TABLE half (x)")); err != nil {
		t.Errorf("half a step was kept: %v", err)
	}
}
