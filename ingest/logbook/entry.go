package logbook

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"stanchion/ingest"
	"stanchion/ingest/wholefile"
)

// entryVersion is the version of the documents beside the book.
const entryVersion = 1

// maxEntry bounds a document beside the book.
const maxEntry = 4 << 20

// An entry is all that the book knows about one run.
type entry struct {
	Version int      `json:"entry_version"`
	Run     Run      `json:"run"`
	Figures []Figure `json:"figures,omitempty"`
}

// A shelf is all that the book knows besides its runs.
type shelf struct {
	Version int         `json:"entry_version"`
	Forks   []shelfFork `json:"forks"`
}

type shelfFork struct {
	Fork     Fork      `json:"fork"`
	Bike     string    `json:"bike,omitempty"`
	Mounted  *Setup    `json:"mounted,omitempty"`
	Plans    []Plan    `json:"service_plans,omitempty"`
	Services []Service `json:"services,omitempty"`
}

// shelfName is the name of the shelf's document, inside a logbook and in an archive.
const shelfName = "forks.json"

func (b *Logbook) entryPath(hash string) string {
	return filepath.Join(b.dir, entriesDir, hash+".json")
}

func (b *Logbook) writeEntry(e entry) error {
	e.Version, e.Run.ID = entryVersion, 0 // a number holds in one book only
	return writeJSON(b.entryPath(e.Run.Hash), e)
}

// writeJSON writes a document, whole.
func writeJSON(path string, v any) error {
	return wholefile.Write(path, true, func(w io.Writer) error {
		enc := json.NewEncoder(w)
		enc.SetIndent("", "  ")
		return enc.Encode(v)
	})
}

// readEntry reads and checks an entry. name stands for it in errors.
func readEntry(r io.Reader, name string) (entry, error) {
	var e entry
	if err := readJSON(r, name, &e); err != nil {
		return entry{}, err
	}
	if e.Version > entryVersion {
		return entry{}, ingest.Hinted{Err: fmt.Errorf("%s: written by a newer stanchion (version %d)", name, e.Version), Hint: "use the newer program"}
	}
	if err := e.Run.check(); err != nil {
		return entry{}, fmt.Errorf("%s: %w", name, err)
	}
	if len(e.Figures) > 10000 {
		return entry{}, fmt.Errorf("%s: %d figures are too many", name, len(e.Figures))
	}
	return e, nil
}

// readJSON reads one bounded document.
func readJSON(r io.Reader, name string, v any) error {
	data, err := io.ReadAll(io.LimitReader(r, maxEntry+1))
	if err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	if len(data) > maxEntry {
		return fmt.Errorf("%s: larger than %d bytes", name, maxEntry)
	}
	if err := json.Unmarshal(data, v); err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	return nil
}

// check says what is wrong with a run that is to be filed.
func (r *Run) check() error {
	switch {
	case !isHash(r.Hash):
		return fmt.Errorf("hash %.70q is not a SHA-256", r.Hash)
	case r.TrackHash != "" && !isHash(r.TrackHash):
		return fmt.Errorf("track hash %.70q is not a SHA-256", r.TrackHash)
	case strings.TrimSpace(r.Fork.Name) == "":
		return errors.New("the fork has no name")
	case !(r.Fork.TravelMM > 0 && r.Fork.TravelMM <= 400):
		return fmt.Errorf("the fork's travel is %g mm: must be over 0 to 400", r.Fork.TravelMM)
	case r.RiddenAt.IsZero():
		return errors.New("when it was ridden is not known")
	case !(r.DurationS >= 0 && r.RidingS >= 0 && r.DurationS < 1e9 && r.RidingS < 1e9):
		return errors.New("its duration is no number of seconds")
	}
	for what, text := range map[string]string{"file": r.File, "name": r.Name, "bike": r.Bike, "fork": r.Fork.Name, "trail": r.Trail, "session": r.Session} {
		if len(text) > maxName || strings.ContainsAny(text, "\n\r\x00") {
			return fmt.Errorf("the %s's name is longer than %d characters or has line breaks", what, maxName)
		}
	}
	for _, n := range r.Notes {
		if len(n.Text) > maxText {
			return fmt.Errorf("a note is longer than %d characters", maxText)
		}
	}
	return r.Setup.check()
}

// check holds a setup that came from elsewhere to what Set allows.
func (s Setup) check() error {
	var again Setup
	for name, text := range s.Values() {
		if text == "" {
			return fmt.Errorf("setting %s is empty", name)
		}
		if err := again.Set(name, text); err != nil {
			return err
		}
	}
	return nil
}

// entries lists the hashes of the entries beside the book, in order.
func (b *Logbook) entries() ([]string, error) {
	list, err := os.ReadDir(filepath.Join(b.dir, entriesDir))
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("entries of the logbook: %w", err)
	}
	var out []string
	for _, f := range list {
		if hash, ok := strings.CutSuffix(f.Name(), ".json"); ok && isHash(hash) {
			out = append(out, hash)
		}
	}
	slices.Sort(out)
	return out, nil
}

// openEntry reads the entry of a run from beside the book.
func (b *Logbook) openEntry(hash string) (entry, error) {
	path := b.entryPath(hash)
	f, err := os.Open(path)
	if err != nil {
		return entry{}, err
	}
	defer f.Close()
	e, err := readEntry(f, path)
	if err == nil && e.Run.Hash != hash {
		err = fmt.Errorf("%s: is the entry of another run (%.12s…)", path, e.Run.Hash)
	}
	return e, err
}

// saveShelf writes the document of the forks again.
func (b *Logbook) saveShelf(ctx context.Context, q querier) error {
	s, err := b.readShelf(ctx, q)
	if err != nil {
		return err
	}
	return writeJSON(filepath.Join(b.dir, entriesDir, shelfName), s)
}

func (b *Logbook) readShelf(ctx context.Context, q querier) (shelf, error) {
	s := shelf{Version: entryVersion, Forks: []shelfFork{}}
	forks, err := listForks(ctx, q)
	if err != nil {
		return shelf{}, err
	}
	for _, f := range forks {
		row := shelfFork{Fork: f.Fork, Bike: f.Bike}
		if row.Mounted, err = mounted(ctx, q, f.id); err != nil {
			return shelf{}, err
		}
		if row.Plans, row.Services, err = plansOf(ctx, q, f.id); err != nil {
			return shelf{}, err
		}
		s.Forks = append(s.Forks, row)
	}
	return s, nil
}

// toMS is how times are stored.
func toMS(t time.Time) int64 { return t.UnixMilli() }

func fromMS(ms int64) time.Time { return time.UnixMilli(ms).UTC() }
