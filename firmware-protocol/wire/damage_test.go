package wire

import (
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// checkAgainstTruth feeds a damaged stream and compares everything that comes out with the truth.
func checkAgainstTruth(t rapid.TB, r *ride, stream []byte, split []int) Losses {
	want, truth := r.truth(stream)
	var d Decoder
	n := 0
	feed(&d, stream, split, func(f *Frame) {
		if n >= len(want) {
			t.Fatalf("frame %+v, but no more were left whole", f.Header)
		}
		if w := want[n]; f.Header != w.Header || f.Err != nil || !reflect.DeepEqual(f.Message, w.message) {
			t.Fatalf("frame %d: got %+v %+v, %v, want %+v %+v", n, f.Header, f.Message, f.Err, w.Header, w.message)
		}
		n++
	})
	if n != len(want) {
		t.Fatalf("%d frames, want %d", n, len(want))
	}
	got := d.Losses()
	if got.SamplesSkipped < 0 || got.SamplesSkipped > min(got.SamplesMissing, r.skipped) {
		t.Fatalf("%d samples skipped, of %d missing and %d truly skipped", got.SamplesSkipped, got.SamplesMissing, r.skipped)
	}
	plain := got
	plain.SamplesSkipped = 0
	if plain != truth {
		t.Fatalf("losses\n got %+v\nwant %+v", plain, truth)
	}
	return got
}

// drawRide draws what a device sends over one to three sessions.
func drawRide(t *rapid.T) *ride {
	r := &ride{}
	for s := range rapid.IntRange(1, 3).Draw(t, "sessions") {
		d := r.start(t, uint32(s+1)*0x01010101)
		for range rapid.IntRange(30, 80).Draw(t, "frames") {
			switch rapid.IntRange(0, 11).Draw(t, "next") {
			case 0:
				d.send(t, &Status{StampUS: d.us, Samples: d.index, BatteryMV: 3900, TemperatureDeciC: NoTemperature})
			case 1:
				d.send(t, &Marker{StampUS: d.us, Label: LabelGate})
			case 2:
				d.skip(rapid.Uint32Range(1, 20).Draw(t, "skip"))
				fallthrough
			default:
				d.sample(t, rapid.IntRange(1, 40).Draw(t, "samples"))
			}
		}
		if rapid.Bool().Draw(t, "ends") {
			d.send(t, &End{StampUS: d.us, Samples: d.index})
		}
	}
	return r
}

// damageRide cuts, flips, repeats, moves and adds bytes. It returns the stream, and which frames came through it untouched.
func damageRide(t *rapid.T, r *ride) (stream []byte, intact []int) {
	type chunk struct {
		bytes []byte
		frame int // -1: garbage, or hurt
	}
	var chunks []chunk
	for i, f := range r.frames {
		chunks = append(chunks, chunk{append(append([]byte{0}, f.piece...), 0), i})
	}
	for range rapid.IntRange(0, 25).Draw(t, "damages") {
		i := rapid.IntRange(0, len(chunks)-1).Draw(t, "at")
		c := chunks[i]
		k := rapid.IntRange(0, len(c.bytes)-1).Draw(t, "byte")
		garbage := rapid.SliceOfN(rapid.Byte(), 1, 30).Draw(t, "garbage")
		switch rapid.IntRange(0, 6).Draw(t, "damage") {
		case 0: // flip a bit
			hurt := slices.Clone(c.bytes)
			hurt[k] ^= 1 << rapid.IntRange(0, 7).Draw(t, "bit")
			chunks[i] = chunk{hurt, -1}
		case 1: // lose bytes
			to := min(len(c.bytes), k+rapid.IntRange(1, 20).Draw(t, "lost"))
			chunks[i] = chunk{slices.Delete(slices.Clone(c.bytes), k, to), -1}
			if len(chunks[i].bytes) == 0 {
				chunks[i].bytes = []byte{7}
			}
		case 2: // lose a frame
			if len(chunks) > 1 {
				chunks = slices.Delete(chunks, i, i+1)
			}
		case 3: // repeat a frame, a little later
			chunks = slices.Insert(chunks, min(len(chunks), i+rapid.IntRange(1, 8).Draw(t, "later")), c)
		case 4: // move a frame
			chunks = slices.Delete(chunks, i, i+1)
			chunks = slices.Insert(chunks, min(len(chunks), i+rapid.IntRange(1, 8).Draw(t, "later")), c)
		case 5: // garbage between frames
			chunks = slices.Insert(chunks, i, chunk{garbage, -1})
		case 6: // garbage inside a frame
			chunks[i] = chunk{slices.Insert(slices.Clone(c.bytes), max(k, 1), garbage...), -1}
		}
	}
	for _, c := range chunks {
		stream = append(stream, c.bytes...)
		if c.frame >= 0 {
			intact = append(intact, c.frame)
		}
	}
	if cut := rapid.IntRange(0, 300).Draw(t, "cut"); cut < len(stream) {
		// Forget the frames that the cut hits, the one whose closing delimiter it takes included.
		for n := cut; n > 0 && len(chunks) > 0; chunks = chunks[:len(chunks)-1] {
			last := chunks[len(chunks)-1]
			if last.frame >= 0 {
				intact = intact[:len(intact)-1]
			}
			n -= len(last.bytes)
		}
		stream = stream[:len(stream)-cut]
	}
	return stream, intact
}

func checkDamage(t *rapid.T) {
	r := drawRide(t)
	stream, intact := damageRide(t, r)
	want, _ := r.truth(stream)
	whole := map[Header]bool{}
	for _, f := range want {
		whole[f.Header] = true
	}
	for _, i := range intact {
		if !whole[r.frames[i].Header] {
			t.Fatalf("the truth itself lost frame %+v, which was not hurt", r.frames[i].Header)
		}
	}
	checkAgainstTruth(t, r, stream, rapid.SliceOfN(rapid.IntRange(1, 700), 1, 8).Draw(t, "split"))
}

func TestDamage(t *testing.T) { rapid.Check(t, checkDamage) }

func FuzzDamage(f *testing.F) { f.Fuzz(rapid.MakeFuzz(checkDamage)) }

func TestNoDamage(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		r := drawRide(rt)
		l := checkAgainstTruth(rt, r, r.bytes(), nil)
		if l.FramesMissing != 0 || l.Damage.Pieces != 0 || l.SamplesMissing != r.skipped || l.SamplesSkipped != r.skipped {
			rt.Fatalf("%d samples skipped, got %+v", r.skipped, l)
		}
	})
}

// A million samples over a line with one wrong bit in ten thousand: every frame without a wrong bit comes through, and
// every sample of the others is counted as missing.
func TestBitErrors(t *testing.T) {
	r := &ride{}
	d := r.start(t, 1)
	const total, perFrame = 1_000_000, 32
	for n := 0; n < total; n += perFrame {
		d.sample(t, min(perFrame, total-n))
	}
	d.send(t, &End{StampUS: d.us, Samples: d.index})
	clean := r.bytes()
	stream := slices.Clone(clean)
	rng := rand.New(rand.NewPCG(1, 2))
	wrong := 0
	for i := range stream {
		for bit := range 8 {
			if rng.IntN(10_000) == 0 {
				stream[i] ^= 1 << bit
				wrong++
			}
		}
	}
	// Which frames have no wrong bit, delimiters included, by place in the stream.
	unhurt := map[uint32]bool{}
	at := 0
	for _, f := range r.frames {
		size := len(f.piece) + 2
		if string(stream[at:at+size]) == string(clean[at:at+size]) {
			unhurt[f.Sequence] = true
		}
		at += size
	}
	var dec Decoder
	feed(&dec, stream, []int{4096}, func(f *Frame) { delete(unhurt, f.Sequence) })
	if len(unhurt) > 0 {
		t.Errorf("%d frames without a wrong bit were lost", len(unhurt))
	}
	l := checkAgainstTruth(t, r, stream, []int{1000})
	if l.Samples+l.SamplesMissing+l.SamplesBefore != total {
		t.Errorf("%d samples came, %d are missing, %d before; %d were sent", l.Samples, l.SamplesMissing, l.SamplesBefore, total)
	}
	t.Logf("%d wrong bits: %d of %d frames and %d of %d samples came through, %d damaged pieces",
		wrong, l.Frames, len(r.frames), l.Samples, total, l.Damage.Pieces)
}
