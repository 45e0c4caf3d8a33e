package capture

import (
	"context"
	"time"

	"stanchion/firmware-protocol/wire"
	"stanchion/ingest"
)

// Options say what to record and where to.
type Options struct {
	Port      string
	Baud      int
	Path      string // of the log
	Overwrite bool   // replace a file that is there
	Append    bool   // go on with a log that is there
	RateHz    float64
	Tool      string        // name and version of the program, for the log
	For       time.Duration // 0: until the context ends
	Setup     *ingest.Setup // for travel in mm while recording, nil where not known

	// Marks, where set, drops a marker with each label that comes.
	Marks <-chan wire.Label
	// Status, where set, is called about five times a second.
	Status func(Status)
	// Event, where set, is told what happens.
	Event func(Event)

	// open stands for OpenPort in tests.
	open func(name string, baud int) (Port, error)
}

// An Event is something that a person should be told while recording.
type Event struct {
	Problem bool
	Text    string
	Hint    string
}

// A Summary is what a recording came to.
type Summary struct {
	Status
	Device   string
	Firmware string
	Breaks   int // times that the port went away
}

// Record records until the context ends or o.For is over, which is no error. The log is whole up to the last byte written,
// whatever happens. The summary tells what is in it even where there is an error.
func Record(ctx context.Context, o Options) (Summary, error) {
	if o.open == nil {
		o.open = OpenPort
	}
	if err := CheckLog(o); err != nil {
		return Summary{}, err
	}
	port, err := o.open(o.Port, o.Baud)
	if err != nil {
		return Summary{}, err
	}
	log, pause, err := createLog(o.Path, o)
	if err != nil {
		port.Close()
		return Summary{}, err
	}
	r := newRecorder(o, log)
	err = r.run(ctx, port, pause)
	return r.summary(), err
}
