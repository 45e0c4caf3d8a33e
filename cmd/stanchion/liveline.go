package main

import (
	"fmt"
	"io"
	"strings"
	"time"

	"stanchion/firmware-protocol/wire"
	"stanchion/ingest"
	"stanchion/ingest/capture"
)

// liveLine draws how a recording does on one line of a terminal, and writes events above it. On anything else it writes only
// the events.
type liveLine struct {
	w     io.Writer
	tty   bool
	width int
	shown bool
}

func (l *liveLine) status(s capture.Status) {
	if !l.tty {
		return
	}
	text := []rune(statusText(s))
	if len(text) >= l.width {
		text = text[:max(l.width-1, 0)]
	}
	fmt.Fprint(l.w, "\r\x1b[K"+string(text))
	l.shown = true
}

func (l *liveLine) event(e capture.Event) {
	l.clear()
	if !e.Problem {
		fmt.Fprintln(l.w, e.Text)
		return
	}
	fmt.Fprintf(l.w, "stanchion: %s\n", e.Text)
	if e.Hint != "" {
		fmt.Fprintf(l.w, "hint: %s\n", e.Hint)
	}
}

func (l *liveLine) clear() {
	if l.shown {
		fmt.Fprint(l.w, "\r\x1b[K")
		l.shown = false
	}
}

// statusText is the line itself.
func statusText(s capture.Status) string {
	parts := []string{clockText(s.Elapsed)}
	if !s.Connected {
		return parts[0] + "  waiting for the sensor"
	}
	if s.RateHz > 0 {
		parts = append(parts, fmt.Sprintf("%.0f Hz", s.RateHz))
	}
	switch {
	case s.HasTravel:
		parts = append(parts, fmt.Sprintf("travel %.1f mm, most %.1f", s.TravelMM, s.MaxMM))
	case s.HasReading:
		parts = append(parts, strings.TrimSpace(fmt.Sprintf("reading %.5g %s", s.Reading, s.Unit)))
	default:
		parts = append(parts, "no samples yet")
	}
	parts = append(parts, lossText(s))
	if s.Markers > 0 {
		parts = append(parts, number(int64(s.Markers), "marker"))
	}
	if s.BatteryMV > 0 {
		parts = append(parts, fmt.Sprintf("battery %.2f V", float64(s.BatteryMV)/1000))
	}
	return strings.Join(parts, "  ")
}

// lossText says what was lost.
func lossText(s capture.Status) string {
	if s.Mode == wire.ModeText {
		return number(s.BadLines, "bad line")
	}
	return number(s.Losses.FramesMissing, "lost frame")
}

// number is "1 thing" or "n things".
func number(n int64, thing string) string {
	if n == 1 {
		return "1 " + thing
	}
	return fmt.Sprintf("%d %ss", n, thing)
}

func clockText(d time.Duration) string {
	d = d.Round(time.Second)
	return fmt.Sprintf("%d:%02d", int(d.Minutes()), int(d.Seconds())%60)
}

// summaryText says what a recording came to.
func summaryText(path string, s capture.Summary, setup *ingest.Setup) string {
	var b strings.Builder
	samples := s.Losses.Samples + s.Rows
	fmt.Fprintf(&b, "%s: %s, %s, %s", path, clockText(s.Elapsed), number(samples, "sample"), lossText(s.Status))
	if n := s.Losses.SamplesMissing; n > 0 {
		fmt.Fprintf(&b, ", %s missing", number(n, "sample"))
	}
	if n := s.Losses.Sessions - 1; n > 0 {
		fmt.Fprintf(&b, ", %s", number(n, "reset"))
	}
	if n := int64(s.Breaks); n > 0 {
		fmt.Fprintf(&b, ", unplugged %s", number(n, "time"))
	}
	fmt.Fprintf(&b, ", %s\n", number(int64(s.Markers), "marker"))
	if s.HasTravel {
		fmt.Fprintf(&b, "most travel: %.1f mm\n", s.MaxMM)
	}
	if samples > 0 {
		fmt.Fprintf(&b, "next: stanchion analyze %s%s\n", path, forkHint(setup))
	}
	return b.String()
}

func forkHint(setup *ingest.Setup) string {
	if setup == nil {
		return " --fork fork.toml"
	}
	return ""
}
