package wire

// account follows the sequence numbers of the present session and the one before it, from which late frames may still come.
type account struct {
	now, before session
	total       Losses // of sessions before these, and all counts that are not kept by session
}

// losses sums up. Damage and Bytes are left to the Decoder.
func (a *account) losses() Losses {
	l := a.total
	l.add(&a.before)
	l.add(&a.now)
	return l
}

// add counts f, sets its Place and Gap, and reports whether it is to be returned. sum stands for its content.
func (a *account) add(f *Frame, sum uint32) bool {
	if !f.Type.FromDevice() {
		a.total.HostFrames++
		f.Place = PlaceHost
		return true
	}
	s := &a.now
	if a.before.heard && a.before.id == f.Session && a.now.id != f.Session {
		s = &a.before
	}
	if !s.heard || s.id != f.Session {
		s = a.begin(f.Session)
	}
	place, missing, ok := s.place(f.Sequence, sum)
	if !ok {
		// Same session, but a number taken by other content, or far in the past: a reset that kept the session number.
		s = a.begin(f.Session)
		place, missing, _ = s.place(f.Sequence, sum)
	}
	if place == placeAgain {
		a.total.Duplicates++
		return false
	}
	f.Place, f.Gap.Frames = place, missing
	s.frames++
	switch place {
	case PlaceLate:
		a.total.FramesLate++
	case PlaceFirst:
		s.unbroken = f.Sequence == 0 // no samples frame came before
	}
	if f.Err != nil {
		a.total.FramesBad++
	} else {
		a.content(s, f)
	}
	return true
}

// content counts what is in the frame.
func (a *account) content(s *session, f *Frame) {
	switch m := f.Message.(type) {
	case *Hello:
		if f.Sequence == 0 && f.Place != PlaceNext {
			s.told(0)
		}
	case *Samples:
		s.addSamples(m, f)
	case *Status:
		s.told(m.Samples)
	case *End:
		s.told(m.Samples)
		if f.Place != PlaceLate {
			s.periodUS = 0 // a pause follows: time tells nothing
		}
	case *Other:
		a.total.FramesUnknown++
	}
}

// begin makes id the present session.
func (a *account) begin(id uint32) *session {
	a.total.add(&a.before)
	a.before = a.now
	a.now = session{heard: true, id: id}
	return &a.now
}

// A session holds what was received of one session. Numbers that wrap on the wire are extended here.
type session struct {
	heard        bool
	id           uint32
	placed       bool
	lowest, next int64 // lowest number received; one above the highest
	frames       int64
	seen         [Window / 64]uint64 // a bit for each of the Window numbers below next
	sums         [Window]uint32      // and what stood there

	indexKnown          bool
	indexLow, indexNext int64 // lowest index told of; one above the highest
	samples, skipped    int64

	sampled  int64   // one above the last index of the last samples frame in order
	unbroken bool    // no frame is missing since the last samples frame in order
	lastUS   uint64  // device clock at the last sample in order
	periodUS float64 // at the last frame in order of two or more samples; 0 where not known
}

// placeAgain marks a duplicate inside this package.
const placeAgain Place = 0xFF

// place finds where sequence number seq belongs and marks it as received. missing is how many numbers it leaves out. ok is
// false, and nothing is marked, where the frame cannot be of this session.
func (s *session) place(seq, sum uint32) (place Place, missing int64, ok bool) {
	if !s.placed {
		s.placed = true
		s.lowest, s.next = int64(seq), int64(seq)
		s.advance(s.next, sum)
		return PlaceFirst, 0, true
	}
	n := extend(s.next, seq)
	if n >= s.next {
		missing = n - s.next
		s.unbroken = s.unbroken && missing == 0
		s.advance(n, sum)
		return PlaceNext, missing, true
	}
	if s.next-n > Window {
		return 0, 0, false
	}
	slot := uint64(n) % Window
	if s.seen[slot/64]&(1<<(slot%64)) != 0 {
		return placeAgain, 0, s.sums[slot] == sum // other content: a reset
	}
	s.mark(n, sum)
	s.lowest = min(s.lowest, n)
	return PlaceLate, 0, true
}

// advance moves next past n and marks n.
func (s *session) advance(n int64, sum uint32) {
	if n-s.next >= Window {
		s.seen = [Window / 64]uint64{}
	} else {
		for i := s.next; i <= n; i++ {
			slot := uint64(i) % Window
			s.seen[slot/64] &^= 1 << (slot % 64)
		}
	}
	s.next = n + 1
	s.mark(n, sum)
}

func (s *session) mark(n int64, sum uint32) {
	slot := uint64(n) % Window
	s.seen[slot/64] |= 1 << (slot % 64)
	s.sums[slot] = sum
}

// addSamples counts the samples of a frame and sets the gap in samples before it.
func (s *session) addSamples(m *Samples, f *Frame) {
	n := int64(m.Len())
	first := int64(m.Index)
	if s.indexKnown {
		first = extend(s.indexNext, m.Index)
	} else {
		s.setIndex(first)
	}
	s.samples += n
	s.indexLow = min(s.indexLow, first)
	if f.Place != PlaceLate {
		f.Gap.Samples = max(first-s.sampled, 0)
		if s.unbroken {
			s.skipped += f.Gap.Samples
		}
		s.unbroken, s.sampled = true, first+n
		s.gapInTime(m, &f.Gap)
	}
	s.indexNext = max(s.indexNext, first+n)
}

// gapInTime sets the part of the gap that the device clock tells.
func (s *session) gapInTime(m *Samples, g *Gap) {
	if s.periodUS > 0 && m.StampUS > s.lastUS {
		if periods := float64(m.StampUS-s.lastUS) / s.periodUS; periods >= 1.5 && periods < 1<<40 {
			g.SamplesByTime = int64(periods+0.5) - 1
		}
	}
	if g.Samples > 0 || g.SamplesByTime > 0 {
		g.FromUS, g.ToUS = s.lastUS, m.StampUS
	}
	s.lastUS = m.StampUS + uint64(m.SpanUS)
	if n := m.Len(); n > 1 {
		s.periodUS = float64(m.SpanUS) / float64(n-1)
	}
}

// told notes that the samples below index next are sent or skipped, and those from it on are not.
func (s *session) told(next uint32) {
	n := int64(next)
	if s.indexKnown {
		n = extend(s.indexNext, next)
	} else {
		s.setIndex(n)
	}
	s.indexLow, s.indexNext = min(s.indexLow, n), max(s.indexNext, n)
}

// setIndex notes the first index that the session tells of.
func (s *session) setIndex(n int64) {
	s.indexKnown, s.indexLow, s.indexNext, s.sampled = true, n, n, n
}

// extend returns the number nearest to near whose low 32 bits are low.
func extend(near int64, low uint32) int64 { return near + int64(int32(low-uint32(near))) }
