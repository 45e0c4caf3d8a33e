package main

import (
	"fmt"
	"io"
	"os"
	"strings"
	"sync"
	"time"

	"golang.org/x/term"
)

// progress draws one line on a terminal: how much of the bytes of all logs has been read, how many logs are done and
// what is being worked on. Anywhere else it draws nothing. Its methods may be called from several goroutines.
type progress struct {
	mu    sync.Mutex
	w     io.Writer // nil: draw nothing
	total int64
	done  map[string]int64
	logs  int
	ready int
	last  time.Time
}

// barWidth is the number of characters of the bar itself.
const barWidth = 24

// newProgress starts the line for logs of total bytes in all; quiet or no terminal: nothing is drawn.
func newProgress(w io.Writer, logs int, total int64, quiet bool) *progress {
	p := &progress{total: total, done: map[string]int64{}, logs: logs}
	if !quiet && isTerminal(w) {
		p.w = w
	}
	return p
}

// read notes that so many bytes of a log have been read.
func (p *progress) read(log string, bytes int64) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.done[log] = bytes
	if time.Since(p.last) > 80*time.Millisecond {
		p.draw("reading " + log)
	}
}

// step notes what is being done with a log now.
func (p *progress) step(what, log string) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.draw(what + " " + log)
}

// finished notes that a log is done with.
func (p *progress) finished(log string) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.ready++
	p.draw("done with " + log)
}

// clear removes the line, before anything else is printed.
func (p *progress) clear() {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.w != nil {
		fmt.Fprint(p.w, "\r\x1b[K")
	}
}

func (p *progress) draw(what string) {
	if p.w == nil {
		return
	}
	p.last = time.Now()
	fmt.Fprint(p.w, "\r\x1b[K"+p.line(what, width(p.w)))
}

// line is the text of the progress line, cut to the terminal's width.
func (p *progress) line(what string, columns int) string {
	var bytes int64
	for _, b := range p.done {
		bytes += b
	}
	share := 0.0
	if p.total > 0 {
		share = min(1, float64(bytes)/float64(p.total))
	}
	full := int(share * barWidth)
	bar := strings.Repeat("=", full) + strings.Repeat(" ", barWidth-full)
	text := []rune(fmt.Sprintf("[%s] %3.0f %%  %d of %d logs  %s", bar, 100*share, p.ready, p.logs, what))
	if len(text) >= columns {
		text = text[:max(0, columns-1)]
	}
	return string(text)
}

func width(w io.Writer) int {
	if f, ok := w.(*os.File); ok {
		if columns, _, err := term.GetSize(int(f.Fd())); err == nil && columns > 0 {
			return columns
		}
	}
	return 80
}
