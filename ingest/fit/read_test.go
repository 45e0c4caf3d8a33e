package fit

import (
	"bytes"
	"compress/gzip"
	"errors"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/muktihari/fit/encoder"
	"github.com/muktihari/fit/profile/mesgdef"
	"github.com/muktihari/fit/profile/typedef"
	"github.com/muktihari/fit/proto"

	"stanchion/ingest"
)

var began = time.Date(2024, 5, 18, 9, 30, 0, 0, time.UTC)

func message(m interface {
	ToMesg(*mesgdef.Options) proto.Message
}) proto.Message {
	return m.ToMesg(nil)
}

// at is a point as recorders write it.
func at(s int, lat, lon float64) *mesgdef.Record {
	return mesgdef.NewRecord(nil).SetTimestamp(began.Add(time.Duration(s) * time.Second)).SetPositionLatDegrees(lat).SetPositionLongDegrees(lon).
		SetEnhancedAltitudeScaled(812.4).SetEnhancedSpeedScaled(6.25)
}

func timer(s int, what typedef.EventType) proto.Message {
	return message(mesgdef.NewEvent(nil).SetTimestamp(began.Add(time.Duration(s) * time.Second)).SetEvent(typedef.EventTimer).SetEventType(what))
}

// activity is a file of these messages.
func activity(t testing.TB, messages ...proto.Message) []byte {
	t.Helper()
	id := message(mesgdef.NewFileId(nil).SetType(typedef.FileActivity).SetTimeCreated(began))
	var b bytes.Buffer
	if err := encoder.New(&b).Encode(&proto.FIT{Messages: append([]proto.Message{id}, messages...)}); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func read(b []byte, opt Options) (*ingest.Track, error) {
	return ReadFrom(bytes.NewReader(b), "ride.fit", opt)
}

func TestActivity(t *testing.T) {
	older := mesgdef.NewRecord(nil).SetTimestamp(began.Add(5 * time.Second)).SetPositionLatDegrees(-33.5).SetPositionLongDegrees(-179.9999).
		SetAltitudeScaled(100).SetSpeedScaled(3.5)
	indoors := mesgdef.NewRecord(nil).SetTimestamp(began.Add(6 * time.Second)).SetEnhancedSpeedScaled(3)
	file := activity(t,
		timer(0, typedef.EventTypeStart),
		message(at(0, 46.5, 7.25)), message(at(1, 46.50005, 7.25)), message(at(1, 46.50006, 7.25)), message(at(2, 46.5001, 7.25)),
		message(at(900, 46.5, 7.25)), // a wild stamp
		timer(3, typedef.EventTypeStopAll), timer(5, typedef.EventTypeStart),
		message(older), message(indoors), message(at(7, 46.5, 180)))
	var packed bytes.Buffer
	z := gzip.NewWriter(&packed)
	z.Write(file)
	z.Close()
	for name, data := range map[string][]byte{"plain": file, "gzip": packed.Bytes()} {
		track, err := read(data, Options{})
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		// A semicircle is 180°/2³¹ = 8.4e-8°, and the encoder cuts; altitude has steps of 0.2 m, speed of 1 mm/s.
		want := []ingest.Fix{
			{TimeS: 0, LatDeg: 46.5, LonDeg: 7.25, EleM: 812.4, SpeedMS: 6.25},
			{TimeS: 1, LatDeg: 46.50006, LonDeg: 7.25, EleM: 812.4, SpeedMS: 6.25},
			{TimeS: 2, LatDeg: 46.5001, LonDeg: 7.25, EleM: 812.4, SpeedMS: 6.25},
			{TimeS: 5, LatDeg: -33.5, LonDeg: -179.9999, EleM: 100, SpeedMS: 3.5, Piece: 1},
			{TimeS: 7, LatDeg: 46.5, LonDeg: -180, EleM: 812.4, SpeedMS: 6.25, Piece: 1},
		}
		if !track.Start.Equal(began) || len(track.Fixes) != len(want) {
			t.Fatalf("%s: start %v, %+v", name, track.Start, track.Fixes)
		}
		for i, f := range track.Fixes {
			w := want[i]
			if f.TimeS != w.TimeS || f.Piece != w.Piece || math.Abs(f.LatDeg-w.LatDeg) > 8.4e-8 || math.Abs(f.LonDeg-w.LonDeg) > 1e-7 ||
				math.Abs(f.EleM-w.EleM) > 1e-9 || math.Abs(f.SpeedMS-w.SpeedMS) > 1e-9 {
				t.Errorf("%s: fix %d: %+v, want %+v", name, i, f, w)
			}
		}
		all := strings.Join(track.Cautions, "\n")
		for _, text := range []string{"1 points have no position", "1 points have the time of another", "1 points have a time out of order"} {
			if !strings.Contains(all, text) {
				t.Errorf("%s: cautions %q, want %q", name, all, text)
			}
		}
		if track.Rows.Data != 8 || track.Rows.Bad != 2 {
			t.Errorf("%s: rows %+v", name, track.Rows)
		}
	}
}

// A chain of files is one track, each file a piece of its own; a recorder without a date has times, but no start.
func TestChainAndNoDate(t *testing.T) {
	chain := append(activity(t, message(at(0, 46, 7)), message(at(1, 46, 7))), activity(t, message(at(60, 46, 7)))...)
	track, err := read(chain, Options{})
	if err != nil || len(track.Fixes) != 3 || track.Fixes[2].Piece != 1 || track.Fixes[2].TimeS != 60 {
		t.Errorf("%v %+v", err, track)
	}
	var dateless []proto.Message
	for s := range 3 {
		dateless = append(dateless, message(at(0, 46, 7).SetTimestamp(epoch.Add(time.Duration(1000+s)*time.Second))))
	}
	track, err = read(activity(t, dateless...), Options{})
	if err != nil || !track.Start.IsZero() || track.Fixes[2].TimeS != 2 || !strings.Contains(strings.Join(track.Cautions, ""), "no date") {
		t.Errorf("%v %+v", err, track)
	}
}

func TestBadFiles(t *testing.T) {
	good := activity(t, message(at(0, 46, 7)), message(at(1, 46, 7)), message(at(2, 46, 7)))
	flipped := bytes.Clone(good)
	flipped[len(good)-8] ^= 0x10
	for _, c := range []struct {
		name string
		data []byte
		opt  Options
		want string
	}{
		{"empty", nil, Options{}, "holds no points"},
		{"text", []byte("<gpx version=\"1.1\"></gpx>"), Options{}, "is not a FIT file"},
		{"a flipped bit", flipped, Options{}, "its checksum does not match"},
		{"no points", activity(t), Options{}, "holds no points"},
		{"no positions", activity(t, message(mesgdef.NewRecord(nil).SetTimestamp(began))), Options{}, "none of its 1 points can be used"},
		{"too many points", good, Options{MaxPoints: 2}, "over 2 points"},
		{"too many bytes", good, Options{MaxBytes: 40}, "over 0 MB"},
		{"broken gzip", []byte{0x1f, 0x8b, 1, 2, 3}, Options{}, "damaged"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := read(c.data, c.opt)
			var hinted ingest.Hinted
			if err == nil || !strings.Contains(err.Error(), c.want) || !strings.Contains(err.Error(), "ride.fit") || !errors.As(err, &hinted) || hinted.Hint == "" {
				t.Errorf("%v, want %q", err, c.want)
			}
		})
	}
	track, err := read(good[:len(good)-6], Options{})
	if err != nil || len(track.Fixes) != 2 || !strings.Contains(strings.Join(track.Cautions, ""), "ends in the middle") {
		t.Errorf("a file that was cut: %v %+v", err, track)
	}
}

func FuzzRead(f *testing.F) {
	good := activity(f, timer(0, typedef.EventTypeStart), message(at(0, 46, 7)), message(at(1, 46, 7)), timer(2, typedef.EventTypeStopAll))
	f.Add(good)
	f.Add(good[:len(good)/2])
	f.Add(append(bytes.Clone(good), good...))
	f.Fuzz(func(t *testing.T, data []byte) {
		track, err := read(data, Options{MaxBytes: 1 << 16, MaxPoints: 1000})
		if (err == nil) != (track != nil) {
			t.Fatalf("%v %v", track, err)
		}
		if err != nil {
			return
		}
		last := math.Inf(-1)
		for _, f := range track.Fixes {
			if !(math.Abs(f.LatDeg) <= 90) || !(f.LonDeg >= -180 && f.LonDeg < 180) || !(f.TimeS > last) || math.IsInf(f.SpeedMS, 0) {
				t.Fatalf("%+v", f)
			}
			last = f.TimeS
		}
	})
}
