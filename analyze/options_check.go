package analyze

import (
	"fmt"
	"math"
	"reflect"
	"strings"
)

// maxOption is over any sensible value of any option, and far from where sample counts overflow.
const maxOption = 1e6

// check finds options that no figure could be computed with. Options are named as in their JSON and in settings files.
func (o Options) check(rateHz float64) error {
	v := reflect.ValueOf(o)
	for i := range v.NumField() {
		name, _, _ := strings.Cut(v.Type().Field(i).Tag.Get("json"), ",")
		var err error
		switch f := v.Field(i).Interface().(type) {
		case float64:
			err = within(name, f)
		case int:
			err = within(name, float64(f))
		case [2]float64:
			if err = within(name, f[0]); err == nil {
				err = within(name, f[1])
			}
			if err == nil && f[0] >= f[1] {
				err = fmt.Errorf("option %s is %g to %g: the first must be less than the second", name, f[0], f[1])
			}
		}
		if err != nil {
			return err
		}
	}
	switch {
	case o.ZeroQuantile > 1:
		return fmt.Errorf("option zero_quantile is %g: it must lie in 0 to 1", o.ZeroQuantile)
	case o.HarshQuantile > 1:
		return fmt.Errorf("option harsh_quantile is %g: it must lie in 0 to 1", o.HarshQuantile)
	}
	return o.checkSteps(rateHz)
}

func within(name string, value float64) error {
	if !(value >= 0 && value <= maxOption) {
		return fmt.Errorf("option %s is %g: it must lie in 0 to %g", name, value, float64(maxOption))
	}
	return nil
}

// checkSteps checks the options that make the steps of the analysis.
func (o Options) checkSteps(rateHz float64) error {
	for _, p := range []struct {
		name  string
		value float64
	}{
		{"cell_s", o.CellS}, {"cell_window_s", o.CellWindowS}, {"velocity_bin_mm_s", o.VelocityBinMMS},
		{"velocity_limit_mm_s", o.VelocityLimitMMS}, {"stroke_gate_mm", o.StrokeGateMM}, {"psd_window_s", o.PSDWindowS},
		{"noise_window_s", o.NoiseWindowS}, {"section_window_s", o.SectionWindowS},
	} {
		if p.value == 0 {
			return fmt.Errorf("option %s is 0: it must be positive", p.name)
		}
	}
	if o.CellS*rateHz < 1 {
		return fmt.Errorf("option cell_s is %g: at %g Hz a cell must last %g s or more", o.CellS, rateHz, 1/rateHz)
	}
	const maxBins = 2000
	if bins := 2 * math.Ceil(o.VelocityLimitMMS/o.VelocityBinMMS); bins > maxBins {
		return fmt.Errorf("option velocity_bin_mm_s is %g: that makes %.0f bins up to %g mm/s, over %d", o.VelocityBinMMS, bins, o.VelocityLimitMMS, maxBins)
	}
	return nil
}
