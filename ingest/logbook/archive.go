package logbook

import (
	"archive/zip"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"stanchion/ingest"
	"stanchion/ingest/wholefile"
)

// An archive is a ZIP file:
//
//	forks.json               what the book knows besides its runs
//	entries/HASH.json        one a run
//	recordings/HASH.ENDING   the recordings and tracks

// Bounds of an archive that is read.
const (
	maxArchiveFiles = 400_000
	maxArchiveFile  = 4 << 30
	maxArchiveBytes = 256 << 30
	maxDocuments    = 1 << 30 // all entries together
	// maxRatio is the largest compression that is believed of a file over a megabyte: logs shrink 3 to 20 times, a bomb 1000 times.
	maxRatio = 150
)

// Export writes the whole logbook as one archive.
func (b *Logbook) Export(ctx context.Context, w io.Writer, progress func(done, all int)) error {
	z := zip.NewWriter(w)
	s, err := b.readShelf(ctx, b.db)
	if err != nil {
		return b.wrap(err)
	}
	if err := putJSON(z, shelfName, s); err != nil {
		return err
	}
	all, err := b.Runs(ctx, Query{})
	if err != nil {
		return err
	}
	done := map[string]bool{} // two runs may share a track
	for i := range all {
		if err := b.exportRun(ctx, z, all[i].ID, done); err != nil {
			return err
		}
		if progress != nil {
			progress(i+1, len(all))
		}
	}
	return z.Close()
}

func (b *Logbook) exportRun(ctx context.Context, z *zip.Writer, id int64, done map[string]bool) error {
	r, err := one(ctx, b.db, "run.id = ?", id)
	if err != nil {
		return b.wrap(err)
	}
	e := entry{Version: entryVersion, Run: r}
	if e.Figures, err = b.FiguresOf(ctx, id); err != nil {
		return err
	}
	e.Run.ID = 0
	for _, file := range []string{b.RecordingPath(&r), b.TrackPath(&r)} {
		if file == "" || done[file] {
			continue
		}
		done[file] = true
		if err := putFile(ctx, z, path.Join(recordingsDir, filepath.Base(file)), file); err != nil {
			return fmt.Errorf("run %d (%s): %w", r.ID, r.Name, err)
		}
	}
	return putJSON(z, path.Join(entriesDir, r.Hash+".json"), e)
}

func putJSON(z *zip.Writer, name string, v any) error {
	w, err := z.Create(name)
	if err != nil {
		return err
	}
	enc := json.NewEncoder(w)
	enc.SetIndent("", "  ")
	return enc.Encode(v)
}

func putFile(ctx context.Context, z *zip.Writer, name, from string) error {
	method := zip.Deflate
	if strings.HasSuffix(name, ".gz") {
		method = zip.Store
	}
	w, err := z.CreateHeader(&zip.FileHeader{Name: name, Method: method})
	if err != nil {
		return err
	}
	f, err := os.Open(from)
	if err != nil {
		return err
	}
	defer f.Close()
	_, err = io.Copy(w, untilDone{ctx, f})
	return err
}

// An ImportReport says what came of an archive.
type ImportReport struct {
	Added int `json:"added"`
	Had   int `json:"had"` // runs that were in the book already, left as they were
}

// Import adds the runs of an archive to the logbook. The archive is read through and checked before anything is changed: a name that
// does not belong, a file that unpacks to more than is sensible, a run without its recording refuse the whole of it. Then each run is filed
// as Add does it, with its recording checked against its hash.
func (b *Logbook) Import(ctx context.Context, r io.ReaderAt, size int64, progress func(done, all int)) (ImportReport, error) {
	var report ImportReport
	z, err := zip.NewReader(r, size)
	if err != nil {
		return report, ingest.Hinted{Err: fmt.Errorf("not an archive of a logbook: %w", err), Hint: "give a file made by 'stanchion log backup'"}
	}
	a, err := openArchive(z)
	if err != nil {
		return report, ingest.Hinted{Err: err, Hint: "the archive was refused and nothing was changed; make it again with 'stanchion log backup'"}
	}
	if err := b.mergeShelf(ctx, a.shelf); err != nil {
		return report, err
	}
	for i, e := range a.entries {
		added, err := b.importRun(ctx, a, e)
		switch {
		case err != nil:
			return report, err
		case added:
			report.Added++
		default:
			report.Had++
		}
		if progress != nil {
			progress(i+1, len(a.entries))
		}
	}
	return report, nil
}

// archive is an archive that has been checked.
type archive struct {
	shelf   shelf
	entries []entry
	files   map[string]*zip.File // of recordings, by their names in the folder
	read    uint64               // bytes of documents
	total   uint64               // bytes that all files would take
}

func openArchive(z *zip.Reader) (*archive, error) {
	if len(z.File) > maxArchiveFiles {
		return nil, fmt.Errorf("the archive holds %d files, more than %d", len(z.File), maxArchiveFiles)
	}
	a := &archive{files: map[string]*zip.File{}}
	for _, f := range z.File {
		if err := a.take(f); err != nil {
			return nil, err
		}
	}
	for _, e := range a.entries {
		for _, name := range e.files() {
			if a.files[name] == nil {
				return nil, fmt.Errorf("the archive lacks the file %s of the run %q", name, e.Run.Name)
			}
		}
	}
	slices.SortStableFunc(a.entries, func(x, y entry) int { return x.Run.RiddenAt.Compare(y.Run.RiddenAt) })
	return a, nil
}

// files are the names of the stored files of a run.
func (e *entry) files() []string {
	out := []string{e.Run.Hash + ending(e.Run.File)}
	if e.Run.TrackHash != "" {
		out = append(out, e.Run.TrackHash+ending(e.Run.TrackFile))
	}
	return out
}

// take checks one file of an archive and reads it where it is a document.
func (a *archive) take(f *zip.File) error {
	a.total += f.UncompressedSize64
	switch {
	case f.UncompressedSize64 > maxArchiveFile || a.total > maxArchiveBytes:
		return fmt.Errorf("the archive's file %.100q is too large", f.Name)
	case f.UncompressedSize64 > 1<<20 && f.UncompressedSize64/maxRatio > f.CompressedSize64:
		return fmt.Errorf("the archive's file %.100q would unpack to %d times its size", f.Name, f.UncompressedSize64/max(1, f.CompressedSize64))
	case !f.Mode().IsRegular():
		return fmt.Errorf("the archive's file %.100q is no plain file", f.Name)
	}
	dir, name := path.Split(f.Name)
	switch {
	case f.Name == shelfName:
		return readZipped(f, func(r io.Reader) error { return readJSON(r, f.Name, &a.shelf) })
	case dir == entriesDir+"/" && strings.HasSuffix(name, ".json") && isHash(strings.TrimSuffix(name, ".json")):
		if a.read += f.UncompressedSize64; a.read > maxDocuments {
			return fmt.Errorf("the archive's entries are larger than %d bytes together", maxDocuments)
		}
		return readZipped(f, func(r io.Reader) error {
			e, err := readEntry(r, f.Name)
			if err == nil && e.Run.Hash+".json" != name {
				err = fmt.Errorf("%s: is the entry of another run", f.Name)
			}
			a.entries = append(a.entries, e)
			return err
		})
	case dir == recordingsDir+"/" && len(name) > 64 && isHash(name[:64]) && (slices.Contains(endings(), name[64:]) || name[64:] == ".log"):
		a.files[name] = f
		return nil
	}
	return fmt.Errorf("the archive's file %.100q does not belong into a logbook", f.Name)
}

func readZipped(f *zip.File, read func(io.Reader) error) error {
	r, err := f.Open()
	if err != nil {
		return fmt.Errorf("%.100s: %w", f.Name, err)
	}
	defer r.Close()
	return read(r)
}

func (b *Logbook) importRun(ctx context.Context, a *archive, e entry) (bool, error) {
	if _, err := one(ctx, b.db, "run.hash = ?", e.Run.Hash); err == nil {
		return false, nil
	} else if !errors.Is(err, ErrNoRun) {
		return false, b.wrap(err)
	}
	for _, name := range e.files() {
		to := filepath.Join(b.dir, recordingsDir, name)
		if have, _, err := hashFile(ctx, to); err == nil && have == name[:64] {
			continue
		}
		if err := unpack(ctx, a.files[name], to); err != nil {
			return false, err
		}
	}
	_, err := b.file(ctx, e)
	var filed FiledError
	if errors.As(err, &filed) { // by another process, just now
		return false, nil
	}
	return err == nil, err
}

// unpack writes a recording out of an archive, whole, if it is what its name says.
func unpack(ctx context.Context, f *zip.File, to string) error {
	err := wholefile.Write(to, true, func(w io.Writer) error {
		return readZipped(f, func(r io.Reader) error {
			hash, err := copyHashed(w, io.LimitReader(untilDone{ctx, r}, int64(f.UncompressedSize64)))
			if err == nil && hash != path.Base(f.Name)[:64] {
				err = errors.New("its content is not what its name says")
			}
			return err
		})
	})
	if err != nil {
		return fmt.Errorf("unpack %s: %w", f.Name, err)
	}
	return nil
}
