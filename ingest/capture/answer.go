package capture

import (
	"time"

	"stanchion/firmware-protocol/wire"
)

// markAnswer is how long a device may take to answer a mark with its own marker.
const markAnswer = time.Second

// mark asks the device for a marker, and notes the wish in the log for devices that take no commands.
func (r *recorder) mark(label wire.Label) {
	if r.view.lastSample.IsZero() {
		r.event(true, "wait until the first samples have come", "there are no samples yet: no marker was set")
		return
	}
	m := &wire.Mark{Label: label}
	r.log.note(m)
	r.view.status.Markers++
	if r.view.status.Mode == wire.ModeFrames {
		r.command(m)
		r.marksSent++
		r.markedAt = time.Now()
	}
	r.event(false, "", "marker %d set", r.view.status.Markers)
}

// marked counts a marker of the device, unless it is the answer to a mark that was counted already.
func (r *recorder) marked(m *wire.Marker) {
	if r.marksSent > 0 && time.Since(r.markedAt) < markAnswer {
		r.marksSent--
		return
	}
	r.marksSent = 0
	r.view.status.Markers++
	r.event(false, "", "marker %d set on the sensor", r.view.status.Markers)
}

// firstOfSession notes when a device starts anew.
func (r *recorder) firstOfSession(*wire.Frame) {
	r.wantTime = true
	r.rateAsked, r.devicePaused = false, false // a reset device has forgotten both
	if r.sessions++; r.sessions > 1 {
		r.event(true, "if nobody switched it off and on, look at its supply and at the plug", "the sensor was reset: the recording goes on in a new section")
	}
}

// hello starts a device that waits.
func (r *recorder) hello(m *wire.Hello) {
	if m.Device != r.saidHello {
		r.saidHello = m.Device
		r.event(false, "", "sensor %q, firmware %q, %d channels at %g Hz", m.Device, m.Firmware, len(m.Channels), float64(m.RateMilliHz)/1000)
	}
	if r.stopping {
		return
	}
	if r.o.RateHz > 0 && !r.rateAsked {
		r.rateAsked = true
		r.command(&wire.SetRate{RateMilliHz: uint32(r.o.RateHz*1000 + 0.5)})
	}
	if !m.Streaming && !r.devicePaused {
		r.command(&wire.Start{})
	}
}

// replied tells what became of the rate that was asked for.
func (r *recorder) replied(m *wire.Reply) {
	if m.Command != wire.TypeSetRate {
		return
	}
	took := float64(m.RateMilliHz) / 1000
	r.view.status.NominalHz = took
	switch {
	case m.Result != wire.ResultDone:
		r.event(true, "leave out --rate, or set the rate in the sensor's firmware", "the sensor did not take a rate of %g Hz: it stays at %g Hz", r.o.RateHz, took)
	case took != r.o.RateHz:
		r.event(false, "", "the sensor took %g Hz, the nearest to %g Hz that it can", took, r.o.RateHz)
	}
}

// ended notes that the device has stopped sampling. What a device stopped by itself is not started again.
func (r *recorder) ended(m *wire.End) {
	r.deviceEnded = true
	if r.stopping || m.Reason == wire.EndCommand {
		return
	}
	r.devicePaused, r.pausedAt = true, time.Now()
	why := map[wire.EndReason]string{
		wire.EndButton: "its button was pressed", wire.EndBattery: "its battery is low", wire.EndSensor: "it says that the sensor failed",
	}[m.Reason]
	if why == "" {
		why = "it does not say why"
	}
	r.event(m.Reason != wire.EndButton, "", "the sensor stopped sampling: %s. Recording goes on when it starts again", why)
}

// modeFound tells how the sensor speaks.
func (r *recorder) modeFound(m wire.Mode) {
	if m == wire.ModeText {
		r.event(false, "", "the sensor sends lines of text: lost samples show only in their stamps")
	}
}

// restarted tells of a board in text mode that started anew.
func (r *recorder) restarted() {
	r.event(true, "if nobody switched it off and on, look at its supply and at the plug", "the stamps went back: the board was reset")
}
