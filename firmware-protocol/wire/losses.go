package wire

// A Place says how a frame follows the ones received before it.
type Place uint8

// The places.
const (
	PlaceFirst Place = iota // first frame received of its session
	PlaceNext               // follows the newest one, or the newest one with a gap: see Frame.Gap
	PlaceLate               // fills an earlier gap: frames were reordered on the way
	PlaceHost               // from the host: not numbered with the device's frames
)

// A Gap is what is missing just before a frame. Frames and Samples may still arrive late.
type Gap struct {
	Frames int64 // by sequence number
	// Samples is by sample index: lost on the way, missed by the device or thrown away by it.
	Samples int64
	// SamplesByTime is by the device clock: the time between the last sample before and the first after, in periods of the
	// frame before, rounded, less one. It needs a frame of two or more samples before, and is 0 across a pause.
	SamplesByTime int64
	FromUS, ToUS  uint64 // device clock at the last sample before and the first after; both 0 where not known
}

// Damage counts bytes. At any time Losses.Bytes = FrameBytes + DelimiterBytes + PieceBytes + TornBytes + bytes of a piece
// that is not yet ended.
type Damage struct {
	FrameBytes     int64 // in whole frames, duplicates included, delimiters left out
	DelimiterBytes int64
	// Pieces counts stretches between delimiters that are no whole frame, with PieceBytes bytes. A damaged frame can leave
	// several, two damaged frames can leave one, and what was cut out whole leaves none: frames are counted by FramesMissing.
	Pieces     int64
	PieceBytes int64
	TornBytes  int64 // after the last delimiter, at Close
}

// Losses is what was received, and what was lost. Counts of frames are of the device's frames.
type Losses struct {
	Bytes  int64
	Damage Damage

	Sessions int64 // resets of the device = Sessions-1, where one device is heard
	Frames   int64 // received, each once, late ones and those with an Err included
	// FramesMissing are those whose number lies between the lowest and the highest received of their session.
	FramesMissing int64
	// FramesBefore are those with lower numbers than the first received of their session: sent before the host listened, or lost.
	FramesBefore  int64
	FramesLate    int64
	Duplicates    int64 // received again
	FramesUnknown int64 // of a type not known to this version
	FramesBad     int64 // CRC right, payload not: a faulty or newer device
	HostFrames    int64

	Samples int64 // received, each once
	// SamplesMissing are those between the lowest and the highest index that the session's frames tell of: samples, status, end,
	// and a hello of sequence 0, which says that none came before.
	SamplesMissing int64
	// SamplesBefore are those with lower index than the lowest told of.
	SamplesBefore int64
	// SamplesSkipped are those of SamplesMissing that the device is known not to have sent: no frame is missing where they
	// should be. What it skipped beside a missing frame is not in here.
	SamplesSkipped int64
}

// add puts the counts of another session to l.
func (l *Losses) add(s *session) {
	if !s.heard {
		return
	}
	l.Sessions++
	l.Frames += s.frames
	l.FramesMissing += s.next - s.lowest - s.frames
	l.FramesBefore += max(s.lowest, 0)
	l.Samples += s.samples
	if s.indexKnown {
		l.SamplesMissing += max(s.indexNext-s.indexLow-s.samples, 0)
		l.SamplesBefore += max(s.indexLow, 0)
	}
	l.SamplesSkipped += s.skipped
}
