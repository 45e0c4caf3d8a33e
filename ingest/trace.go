package ingest

import "time"

// A Trace is calibrated travel on a uniform grid, cut into gap-free segments. Nothing (filter, stroke, event)
// may cross from one segment into the next.
type Trace struct {
	Source   string
	Fork     Fork
	Start    time.Time // wall time of time 0, UTC; zero where the log does not tell
	RateHz   float64   // the same for all segments
	Segments []Segment
	Markers  []TraceMarker
	Channels []ChannelInfo // what Segment.Channels holds, in order
	Quality  Quality
	Options  PrepareOptions // that Prepare used
	// Understood and Cautions are passed on from the Recording, with what calibration added.
	Understood []string
	Cautions   []string
}

// A Segment is one gap-free piece of a Trace. Sample i is at StartS + i/RateHz and stands for 1/RateHz s.
type Segment struct {
	StartS   float64     // s from the first sample of the recording
	TravelMM []float64   // unfiltered
	Channels [][]float64 // extra channels on the same grid (nearest sample), in the order of Trace.Channels
}

// ChannelInfo names an extra channel.
type ChannelInfo struct {
	Name string `json:"name"`
	Unit string `json:"unit,omitempty"`
}

// A TraceMarker is a rider's marker on the trace's time axis.
type TraceMarker struct {
	TimeS float64 `json:"time_s"`
	Label string  `json:"label"`
}

// DurationS is the time recorded, gaps left out: the sum of n/RateHz over the segments.
func (t *Trace) DurationS() float64 {
	n := 0
	for _, s := range t.Segments {
		n += len(s.TravelMM)
	}
	if t.RateHz <= 0 {
		return 0
	}
	return float64(n) / t.RateHz
}

// PrepareOptions holds every threshold between a Recording and a Trace.
type PrepareOptions struct {
	OutlierJumpS    float64 `json:"outlier_jump_s"`    // a single forward step over this that returns is an outlier stamp
	PeriodTolerance float64 `json:"period_tolerance"`  // relative difference of mean and median step above which the mean is used
	GapPeriods      float64 `json:"gap_periods"`       // a step over this many periods is a gap
	StallS          float64 `json:"stall_s"`           // a clock that stands still or goes back for over this splits the recording
	BridgeS         float64 `json:"bridge_s"`          // gaps up to this long are bridged
	MinSegmentS     float64 `json:"min_segment_s"`     // shorter segments are left out
	SpikeHalfWindow int     `json:"spike_half_window"` // Hampel half window, samples
	SpikeMADs       float64 `json:"spike_mads"`        // Hampel threshold in scaled median absolute deviations
	SpikeMinMM      float64 `json:"spike_min_mm"`      // and never below this
	SpikeMaxRun     int     `json:"spike_max_run"`     // longer runs are left alone
	GridTolerance   float64 `json:"grid_tolerance"`    // in periods; stamps further off a uniform grid cause resampling
	ClipRun         int     `json:"clip_run"`          // samples at code 0 or full scale in a row that count as clipping
}

// DefaultPrepareOptions returns the defaults that the figure definitions state.
func DefaultPrepareOptions() PrepareOptions {
	return PrepareOptions{
		OutlierJumpS: 10, PeriodTolerance: 0.005, GapPeriods: 3, StallS: 1, BridgeS: 0.020, MinSegmentS: 0.5,
		SpikeHalfWindow: 5, SpikeMADs: 4, SpikeMinMM: 2, SpikeMaxRun: 3, GridTolerance: 0.1, ClipRun: 5,
	}
}

// A Gap is a hole in the recording that split it.
type Gap struct {
	StartS    float64 `json:"start_s"` // time of the last sample before the hole
	DurationS float64 `json:"duration_s"`
}

// Quality counts all that was found wrong with a recording and all that Prepare did about it.
type Quality struct {
	Rows              int      `json:"rows"`     // data rows in the log
	BadRows           int      `json:"bad_rows"` // of those, not readable
	FirstBadRows      []BadRow `json:"first_bad_rows,omitempty"`
	Samples           int      `json:"samples"` // samples of the trace, bridged ones included
	RateHz            float64  `json:"rate_hz"`
	PeriodFromMean    bool     `json:"period_from_mean"` // the median step was too coarse, the mean was used
	StampsJitterS     float64  `json:"stamps_jitter_s"`  // RMS distance of stamps from the uniform grid
	Resampled         bool     `json:"resampled"`        // PCHIP onto the uniform grid was needed
	WrapBits          int      `json:"wrap_bits,omitempty"`
	Wraps             int      `json:"wraps"`
	DuplicateStamps   int      `json:"duplicate_stamps"`
	BackwardStamps    int      `json:"backward_stamps"`
	OutlierStamps     int      `json:"outlier_stamps"`
	UnusableReadings  int      `json:"unusable_readings"` // rows with a stamp but no usable reading
	LostSamples       int      `json:"lost_samples"`      // samples bridged by PCHIP, short losses and bridged gaps together
	BridgedGaps       int      `json:"bridged_gaps"`      // gaps of over GapPeriods and up to BridgeS
	Splits            []Gap    `json:"splits,omitempty"`  // longer gaps
	ShortSegments     int      `json:"short_segments"`    // left out
	ShortSegmentsS    float64  `json:"short_segments_s"`
	SpikeRuns         int      `json:"spike_runs"`
	SpikeSamples      int      `json:"spike_samples"`
	LongSpikeRuns     int      `json:"long_spike_runs"` // over SpikeMaxRun, left alone
	ClippedLow        int      `json:"clipped_low"`     // samples in clipping runs at code 0
	ClippedHigh       int      `json:"clipped_high"`    // samples in clipping runs at full scale
	ClippingKnown     bool     `json:"clipping_known"`  // the ADC width was known
	CalibrationRMSMM  float64  `json:"calibration_rms_mm"`
	MMPerCount        float64  `json:"mm_per_count,omitempty"` // mm per unit of reading without its sign, mean over the points; counts and volts only
	CalibrationPoints int      `json:"calibration_points"`
}
