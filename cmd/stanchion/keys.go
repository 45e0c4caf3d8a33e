package main

import (
	"bytes"
	"context"
	"io"
	"os"

	"golang.org/x/term"
)

// interruptKey is what Ctrl-C gives where the terminal passes keys as they are.
const interruptKey = 3

// A keyboard hands keys over one by one. On a terminal they come without Enter, and output needs the CR that rawWriter adds.
type keyboard struct {
	keys    chan byte
	raw     bool
	restore func()
}

// newKeyboard reads keys from in until ctx ends. The caller calls restore at the end.
func newKeyboard(ctx context.Context, in *os.File) *keyboard {
	k := &keyboard{keys: make(chan byte), restore: func() {}}
	if fd := int(in.Fd()); term.IsTerminal(fd) {
		if state, err := term.MakeRaw(fd); err == nil {
			k.raw = true
			k.restore = func() { _ = term.Restore(fd, state) }
		}
	}
	go func() {
		buf := make([]byte, 16)
		for {
			n, err := in.Read(buf)
			for _, b := range buf[:n] {
				select {
				case k.keys <- b:
				case <-ctx.Done():
					return
				}
			}
			if err != nil {
				return
			}
		}
	}()
	return k
}

// rawWriter puts a CR before each LF, for a terminal that passes bytes as they are.
type rawWriter struct{ w io.Writer }

func (r rawWriter) Write(p []byte) (int, error) {
	if _, err := r.w.Write(bytes.ReplaceAll(p, []byte("\n"), []byte("\r\n"))); err != nil {
		return 0, err
	}
	return len(p), nil
}
