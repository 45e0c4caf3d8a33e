package csvlog

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"runtime"

	"golang.org/x/sync/errgroup"

	"stanchion/ingest"
)

// Read reads the log at path. Errors are of type *Error, or the context's.
func Read(ctx context.Context, path string, o Options) (*ingest.Recording, error) {
	f, size, err := open(path)
	if err != nil {
		return nil, located(err, path)
	}
	defer f.Close()
	return read(ctx, f, size, path, o)
}

// ReadFrom reads a log from r; name stands for it in messages and in Recording.Source.
func ReadFrom(ctx context.Context, r io.Reader, name string, o Options) (*ingest.Recording, error) {
	return read(ctx, r, 0, name, o)
}

// located puts the path into an error of this package.
func located(err error, path string) error {
	if errors.Is(err, context.Canceled) || errors.Is(err, context.DeadlineExceeded) {
		return fmt.Errorf("%s: %w", path, err)
	}
	var e *Error
	if !errors.As(err, &e) {
		e = &Error{Reason: "cannot read the log", Err: err}
	}
	e.Path = path
	return e
}

func read(ctx context.Context, r io.Reader, size int64, name string, o Options) (*ingest.Recording, error) {
	o, err := o.prepared()
	if err != nil {
		return nil, located(err, name)
	}
	src, err := newSource(ctx, r, size, o)
	if err != nil {
		return nil, located(err, name)
	}
	rec, err := readText(ctx, src, size, o)
	if errors.Is(err, errTooLong) {
		err = fail("raise --max-bytes if the log is truly that long", "there are more than %d bytes of text", src.limit)
	}
	if err != nil {
		return nil, located(err, name)
	}
	rec.Source = name
	return rec, nil
}

// readText reads the unwrapped text of a log.
func readText(ctx context.Context, src *source, size int64, o Options) (*ingest.Recording, error) {
	line, block, final, err := firstBlock(src, o)
	if err != nil {
		return nil, err
	}
	l, err := readLayout(block, line, final, o)
	if err != nil {
		return nil, err
	}
	cols, err := l.choose(o)
	if err != nil {
		return nil, err
	}
	p := newPlan(l, cols)
	rest := block[l.bodyStart:]
	if src.coded { // how long the text will be is not known
		size = 0
	}
	t := &table{plan: p, fileSize: size}
	f := &feed{dialect: l.dialect, src: src, rest: rest, line: l.bodyLine, size: o.chunkSize, done: final}
	if err := t.fill(ctx, f); err != nil {
		return nil, err
	}
	return finish(t, l, cols, src, o)
}

// firstBlock skips the lines that the user wants skipped and returns the first sniffSize bytes of the rest. final says that there
// is no more.
func firstBlock(src io.Reader, o Options) (line int, block []byte, final bool, err error) {
	skip := o.SkipLines
	if o.HeaderLine > 0 {
		skip = o.HeaderLine - 1
	}
	line = 1
	eol := byte(0)
	block = make([]byte, 0, sniffSize)
	for {
		n, err := io.ReadFull(src, block[len(block):sniffSize])
		block = block[:len(block)+n]
		final = err == io.EOF || err == io.ErrUnexpectedEOF
		if err != nil && !final {
			return 0, nil, false, err
		}
		if eol == 0 {
			eol = '\n'
			if bytes.IndexByte(block, '\n') < 0 {
				eol = '\r'
			}
		}
		at := 0
		for skip > 0 {
			i := bytes.IndexByte(block[at:], eol)
			if i < 0 {
				break
			}
			at += i + 1
			skip--
			line++
		}
		if at == 0 && skip > 0 && !final {
			return 0, nil, false, &Error{Line: line, Reason: "a line to skip is longer than 64 KiB", Hint: "check --skip-lines and --header-line"}
		}
		if skip > 0 && final {
			return 0, nil, false, fail("check --skip-lines and --header-line", "the log has only %d lines", line)
		}
		block = block[:copy(block, block[at:])]
		if at == 0 || final {
			return line, block, final, nil
		}
	}
}

// A table collects the columns of all chunks, in order.
type table struct {
	plan     *plan
	fileSize int64 // 0 = not known
	read     int64 // bytes parsed

	cols    [][]float64
	rows    int
	bad     int
	first   []ingest.BadRow
	marks   []mark
	state   string
	frac    [toExtra + maxExtra]bool
	leaps   []int
	unzoned bool
}

// fill reads, parses and collects. One goroutine reads, one per processor parses, and this one collects in the order of the file; the
// number of chunks under way is fixed, so that memory is too.
func (t *table) fill(ctx context.Context, f *feed) error {
	t.cols = make([][]float64, t.plan.width)
	workers := runtime.GOMAXPROCS(0)
	group, ctx := errgroup.WithContext(ctx)
	free := make(chan *chunk, 2*workers+1)
	for range cap(free) {
		free <- &chunk{done: make(chan struct{}, 1)}
	}
	work, order := make(chan *chunk, cap(free)), make(chan *chunk, cap(free))
	group.Go(func() error {
		defer close(work)
		defer close(order)
		for {
			var c *chunk
			select {
			case c = <-free:
			case <-ctx.Done():
				return ctx.Err()
			}
			if err := f.next(c); err == io.EOF {
				return nil
			} else if err != nil {
				return err
			}
			order <- c // these never block: there are no more chunks than places
			work <- c
		}
	})
	for range workers {
		group.Go(func() error {
			for c := range work {
				t.plan.parse(c)
				c.done <- struct{}{}
			}
			return nil
		})
	}
	group.Go(func() error {
		for c := range order {
			<-c.done
			if err := t.add(c); err != nil {
				return err
			}
			free <- c
		}
		return nil
	})
	return group.Wait()
}

// add appends what was found in a chunk.
func (t *table) add(c *chunk) error {
	for _, m := range c.marks {
		if m.text != t.state && len(t.marks) <= maxMarkers && m.text != "" {
			t.marks = append(t.marks, mark{len(t.cols[toTravel]) + m.at, m.text})
		}
		t.state = m.text
	}
	t.read += int64(len(c.data))
	kept := len(t.cols[toTravel]) + c.n
	if kept*t.plan.width > maxValues {
		return fail("split the log, or keep only time and travel with --no-extra", "there are more than %d values to keep", maxValues)
	}
	for i := range t.cols {
		if i == toTime && t.plan.timeKind == kindEmpty || c.n == 0 {
			continue
		}
		t.cols[i] = append(t.grown(t.cols[i], kept), c.cols[i][:c.n]...)
	}
	t.rows += c.rows
	t.bad += c.bad
	t.first = append(t.first, c.first[:min(len(c.first), maxFirst-len(t.first))]...)
	for i, f := range c.frac {
		t.frac[i] = t.frac[i] || f
	}
	for _, i := range c.leaps {
		t.leaps = append(t.leaps, kept-c.n+i)
	}
	t.unzoned = t.unzoned || c.unzoned
	return nil
}

// grown makes room for kept values in col and, where the size of the file is known, for as many more as it seems to hold.
func (t *table) grown(col []float64, kept int) []float64 {
	if kept <= cap(col) {
		return col
	}
	room := kept + kept/2
	if t.fileSize > 0 {
		room = kept + int(float64(t.fileSize-t.read)*float64(kept)/float64(t.read)*1.02) + 16
	}
	room = min(max(room, kept), maxValues/t.plan.width+1)
	return append(make([]float64, 0, max(room, kept)), col...)
}
