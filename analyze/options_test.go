package analyze

import (
	"encoding/json"
	"math"
	"reflect"
	"testing"

	"pgregory.net/rapid"
)

// Whatever one option holds, Run gives an error or a result that is valid JSON, and does not panic or run for ever.
func TestOddOptions(t *testing.T) {
	x := demoRide(500, 9, 2)
	odd := rapid.SampledFrom([]float64{0, -1, 1, 1e-9, 1e9, 1e300, -1e300, math.NaN(), math.Inf(1), math.Inf(-1), 0.3, 99})
	rapid.Check(t, func(t *rapid.T) {
		opt := DefaultOptions()
		v := reflect.ValueOf(&opt).Elem()
		f := v.Field(rapid.IntRange(0, v.NumField()-1).Draw(t, "field"))
		switch f.Kind() {
		case reflect.Float64:
			f.SetFloat(odd.Draw(t, "value"))
		case reflect.Int:
			f.SetInt(int64(rapid.SampledFrom([]int{0, -1, 1, 12, 3000}).Draw(t, "value")))
		case reflect.Array:
			f.Index(0).SetFloat(odd.Draw(t, "low"))
			f.Index(1).SetFloat(odd.Draw(t, "high"))
		default:
			return
		}
		res, _, err := Run(traceOf(500, x), opt)
		if err != nil {
			return
		}
		res.Options = DefaultOptions() // an option that is not a number cannot be written, and comes from no file
		if _, err := json.Marshal(res); err != nil {
			t.Fatal(err)
		}
		if _, err := AnalyzeSag(traceOf(500, x), opt); err != nil {
			t.Fatal(err)
		}
	})
}
