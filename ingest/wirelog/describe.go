package wirelog

import (
	"fmt"

	"stanchion/ingest"
)

// describe says what the log is, and what was lost on the way.
func (b *builder) describe(rec *ingest.Recording) {
	what := "log: text lines"
	if !b.isText {
		what = "log: frames"
		if h := b.hello; h != nil {
			what += fmt.Sprintf(" of sensor %q, firmware %q, nominally %g Hz", h.Device, h.Firmware, float64(h.RateMilliHz)/1000)
		}
	}
	said := []string{what, "time: the sensor's clock, µs"}
	if s := rec.Clock.Start; !s.IsZero() {
		said = append(said, "recorded: "+s.Format("2006-01-02 15:04:05")+" UTC")
	}
	rec.Understood = append(said, rec.Understood...)
	b.doubts(rec)
}

// doubts says what a person should know of how the log came about.
func (b *builder) doubts(rec *ingest.Recording) {
	caution := func(format string, args ...any) { rec.Cautions = append(rec.Cautions, fmt.Sprintf(format, args...)) }
	l := b.losses()
	if n := l.FramesMissing; n > 0 && !b.isText {
		caution("lost on the way: %d of %s, %s with what the sensor skipped: check the cable and the plugs",
			n, counted(n+l.Frames, "frame"), counted(l.SamplesMissing, "sample"))
	}
	if n := l.SamplesSkipped; n > 0 && !b.isText {
		caution("the sensor itself left out %s: a lower rate or a faster link may help", counted(n, "sample"))
	}
	if l.FramesBad > 0 {
		caution("%s came whole but could not be understood: is the sensor's firmware newer than this program?", counted(l.FramesBad, "frame"))
	}
	used := 0
	for _, s := range b.sections {
		if s.samples > 0 {
			used++
		}
	}
	if used > 1 {
		caution("the sensor's clock began again (%d ×): it was reset or switched off and on; the log is split there", used-1)
	}
	if b.unplugged > 0 {
		caution("the port went away while recording (%d ×)", b.unplugged)
	}
	if b.tool != "" && !b.clean {
		caution("the recording was cut off, not ended: what came in its last second may be missing")
	}
}

// counted writes n of something: "1 sample", "2 samples".
func counted(n int64, what string) string {
	if n != 1 {
		what += "s"
	}
	return fmt.Sprintf("%d %s", n, what)
}
