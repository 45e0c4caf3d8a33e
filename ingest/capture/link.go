package capture

import (
	"errors"
	"io"
	"time"
)

// errGone is why reading ends where a port vanished without an error.
var errGone = errors.New("the port is gone")

// A chunk is what one read gave.
type chunk struct {
	data []byte
	at   time.Time
}

// A link moves bytes between an open port and the recorder, so that neither a slow disk nor a device that takes no
// commands can make it miss data.
type link struct {
	port Port
	here presence
	in   chan chunk // closed when reading ends
	out  chan []byte
	stop chan struct{}
	done chan struct{} // closed when the writer has ended
	err  error         // why reading ended; nil after close. Read it after in is closed.
}

const (
	queueChunks   = 4096 // of at most readBytes
	readBytes     = 4096
	queueCommands = 16
	// smallRead and readPause: after a small read the link waits a little, so that a slow stream comes in few pieces.
	smallRead = 512
	readPause = 4 * time.Millisecond
	// A read that gives nothing at once, emptyReads times in a row, is a port that has hung up.
	emptyReads = 20
	emptyPause = 10 * time.Millisecond
	// lookAfter is how often a silent port is looked for.
	lookAfter = 300 * time.Millisecond
)

func newLink(p Port, name string) *link {
	l := &link{port: p, here: newPresence(name), in: make(chan chunk, queueChunks), out: make(chan []byte, queueCommands),
		stop: make(chan struct{}), done: make(chan struct{})}
	go l.read()
	go l.write()
	return l
}

// send hands a command to the device; where the device takes none it is dropped.
func (l *link) send(b []byte) {
	select {
	case l.out <- b:
	default:
	}
}

// close ends both goroutines. It does not wait for a write that the device blocks.
func (l *link) close() {
	close(l.stop)
	select {
	case <-l.done:
	case <-time.After(2 * readTimeout):
	}
	l.port.Close()
}

func (l *link) stopped() bool {
	select {
	case <-l.stop:
		return true
	default:
		return false
	}
}

func (l *link) write() {
	defer close(l.done)
	for {
		select {
		case b := <-l.out:
			if _, err := l.port.Write(b); err != nil {
				return // reading will notice
			}
		case <-l.stop:
			return
		}
	}
}

func (l *link) read() {
	defer close(l.in)
	buf := make([]byte, readBytes)
	empty := 0
	looked := time.Now()
	for !l.stopped() {
		began := time.Now()
		n, err := l.port.Read(buf)
		now := time.Now()
		if n > 0 {
			empty = 0
			looked = now
			select {
			case l.in <- chunk{append([]byte(nil), buf[:n]...), now}:
			case <-l.stop:
				return
			}
			if n < smallRead {
				time.Sleep(readPause)
			}
		}
		switch {
		case l.stopped():
			return
		case err != nil && !errors.Is(err, io.EOF):
			l.err = err
			return
		case n > 0:
			continue
		}
		if now.Sub(began) < readTimeout/4 {
			empty++
			time.Sleep(emptyPause)
		} else {
			empty = 0
		}
		if empty >= emptyReads || now.Sub(looked) > lookAfter && l.here.gone() {
			l.err = errGone
			return
		}
		if now.Sub(looked) > lookAfter {
			looked = now
		}
	}
}
