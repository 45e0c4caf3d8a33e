package wire

import (
	"bytes"
	"errors"
	"io"
	"math/rand/v2"
	"slices"
	"testing"
	"testing/iotest"

	"pgregory.net/rapid"
)

// wholeLength finds the end of the last whole frame from the front, by looking up what was sent.
func (r *ride) wholeLength(b []byte) int64 {
	sent := map[string]bool{}
	for _, f := range r.frames {
		sent[f.piece] = true
	}
	at, end := 0, 0
	for piece := range bytes.SplitSeq(b, []byte{0}) {
		at += len(piece) + 1
		if sent[string(piece)] {
			end = min(at, len(b)) // the last piece has no delimiter
		}
	}
	return int64(end)
}

func TestWholeLength(t *testing.T) {
	r := &ride{}
	d := r.start(t, 5)
	for i := range 2000 {
		d.sample(t, 1+i%200)
	}
	log := r.bytes()
	rng := rand.New(rand.NewPCG(3, 4))
	for range 300 {
		cut := rng.IntN(len(log) + 1)
		b := slices.Clone(log[:cut])
		switch rng.IntN(4) {
		case 0: // noise after the cut, longer than a block
			for range rng.IntN(200_000) {
				b = append(b, byte(rng.Uint32()))
			}
		case 1: // no zero byte for long
			b = append(b, bytes.Repeat([]byte{3}, rng.IntN(200_000))...)
		case 2: // a file system's zeros
			b = append(b, make([]byte, rng.IntN(200_000))...)
		}
		got, err := WholeLength(bytes.NewReader(b), int64(len(b)))
		if want := r.wholeLength(b); err != nil || got != want {
			t.Fatalf("log of %d bytes, cut at %d: %d whole, %v, want %d", len(b), cut, got, err, want)
		}
	}
}

func TestWholeLengthProperty(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		r := drawRide(rt)
		stream, _ := damageRide(rt, r)
		got, err := WholeLength(bytes.NewReader(stream), int64(len(stream)))
		if want := r.wholeLength(stream); err != nil || got != want {
			rt.Fatalf("%d whole, %v, want %d", got, err, want)
		}
	})
}

func TestWholeLengthEdges(t *testing.T) {
	frame, err := NewEncoder(1).Append(nil, &Marker{})
	if err != nil {
		t.Fatal(err)
	}
	size := int64(len(frame))
	for name, c := range map[string]struct {
		log  []byte
		want int64
	}{
		"empty":                  {nil, 0},
		"one zero":               {[]byte{0}, 0},
		"zeros only":             {make([]byte, 100_000), 0},
		"one frame":              {frame, size},
		"no closing delimiter":   {frame[:size-1], size - 1},
		"no opening delimiter":   {frame[1:], size - 1},
		"no delimiters":          {frame[1 : size-1], size - 2},
		"cut by two bytes":       {frame[:size-2], 0},
		"torn frame after it":    {join(frame, frame[:9]), size},
		"whole frame after torn": {join(frame[:9], frame), size + 9},
	} {
		if got, err := WholeLength(bytes.NewReader(c.log), int64(len(c.log))); err != nil || got != c.want {
			t.Errorf("%s: %d, %v, want %d", name, got, err, c.want)
		}
	}
	if _, err := WholeLength(bytes.NewReader(frame), size+1); !errors.Is(err, io.EOF) {
		t.Errorf("log shorter than told: %v, want an error that wraps io.EOF", err)
	}
}

// Whatever was torn, what is appended later is read, and costs nothing before it.
func TestAppendAfterTear(t *testing.T) {
	r := &ride{}
	d := r.start(t, 5)
	for range 20 {
		d.sample(t, 10)
	}
	log := r.bytes()
	note, err := NewEncoder(0).Append(nil, &HostGap{UnixUS: 7, Cause: GapRestarted})
	if err != nil {
		t.Fatal(err)
	}
	for cut := range len(log) + 1 {
		var dec Decoder
		frames := 0
		var last Type
		feed(&dec, join(log[:cut], note), nil, func(f *Frame) { frames, last = frames+1, f.Type })
		want, _ := r.truth(join(log[:cut], []byte{0}))
		if frames != len(want)+1 || last != TypeHostGap {
			t.Fatalf("cut at %d: %d frames, the last %02X, want %d and a host gap", cut, frames, uint8(last), len(want)+1)
		}
	}
}

func TestReader(t *testing.T) {
	r := &ride{}
	d := r.start(t, 5)
	for range 300 {
		d.sample(t, 100)
	}
	log := r.bytes()
	failure := errors.New("disk is gone")
	for name, c := range map[string]struct {
		src    io.Reader
		frames int
		end    error
	}{
		"whole":             {bytes.NewReader(log), 301, io.EOF},
		"byte by byte":      {iotest.OneByteReader(bytes.NewReader(log)), 301, io.EOF},
		"data with the end": {iotest.DataErrReader(bytes.NewReader(log)), 301, io.EOF},
		"last delimiter":    {bytes.NewReader(log[:len(log)-1]), 301, io.EOF},
		"torn":              {bytes.NewReader(log[:len(log)-2]), 300, io.EOF},
		"read fails":        {io.MultiReader(bytes.NewReader(log), iotest.ErrReader(failure)), 301, failure},
		"empty":             {bytes.NewReader(nil), 0, io.EOF},
	} {
		rd := NewReader(c.src)
		n := 0
		var err error
		for {
			var f *Frame
			if f, err = rd.Next(); err != nil {
				break
			}
			if f.Sequence != uint32(n) {
				t.Errorf("%s: frame %d has number %d", name, n, f.Sequence)
			}
			n++
		}
		if _, again := rd.Next(); n != c.frames || err != c.end || again != c.end {
			t.Errorf("%s: %d frames, %v, then %v; want %d, %v", name, n, err, again, c.frames, c.end)
		}
		if l := rd.Losses(); l.Frames != int64(n) || (l.Damage.TornBytes > 0) != (name == "torn") {
			t.Errorf("%s: %+v", name, l)
		}
	}
}
