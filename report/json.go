package report

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
	"reflect"
	"strings"

	"stanchion/analyze"
	"stanchion/analyze/advice"
	"stanchion/analyze/compare"
	"stanchion/analyze/damper"
	"stanchion/analyze/spring"
	"stanchion/analyze/trail"
)

// JSON writes a result as indented JSON. Its form is described in schema.md and numbered by Result.SchemaVersion;
// reading it back into an analyze.Result gives the same figures. Numbers are always finite.
func JSON(w io.Writer, r *analyze.Result) error {
	return writeJSON(w, r)
}

// RunJSON writes a result as JSON does, and what else is known about the run: what was met on the trail as "trail" and split times as "timing"
// (schema-trail.md, schema-timing.md), what to change next as "advice" (schema-advice.md). Each of g, t and a may be nil.
func RunJSON(w io.Writer, r *analyze.Result, g *Ground, t *trail.Timing, a *advice.Advice) error {
	full := struct {
		*analyze.Result
		Trail  *trail.Reading `json:"trail,omitempty"`
		Timing *trail.Timing  `json:"timing,omitempty"`
		Advice *advice.Advice `json:"advice,omitempty"`
	}{Result: r, Advice: a}
	if g != nil {
		full.Trail, full.Timing = g.Reading, t
	}
	return writeJSON(w, &full)
}

// CompareJSON writes a comparison as indented JSON. Its form is described in schema-compare.md.
func CompareJSON(w io.Writer, c *compare.Comparison) error { return writeJSON(w, c) }

// SweepJSON writes a sweep as indented JSON. Its form is described in schema-compare.md.
func SweepJSON(w io.Writer, s *compare.SweepResult) error { return writeJSON(w, s) }

// SpringJSON writes a spring as indented JSON. Its form is described in schema-spring.md.
func SpringJSON(w io.Writer, a *spring.Answer) error { return writeJSON(w, a) }

// DamperJSON writes a ride on a damper's curves as indented JSON. Its form is described in schema-damper.md.
func DamperJSON(w io.Writer, d *damper.Result) error { return writeJSON(w, d) }

// writeJSON writes what r points to.
func writeJSON(w io.Writer, r any) error {
	if err := checkFinite(r); err != nil {
		return err
	}
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", " ")
	if err := enc.Encode(r); err != nil {
		return fmt.Errorf("result as JSON: %w", err)
	}
	return nil
}

// checkFinite names the first number that is not finite of a result, which r points to. Such a number is a mistake of the analysis: a
// figure that cannot be computed is absent.
func checkFinite(r any) error {
	if path, ok := notFinite(reflect.ValueOf(r).Elem()); ok {
		return fmt.Errorf("result: %s is not a finite number: this is a mistake in the program, please report it", strings.TrimPrefix(path, "."))
	}
	return nil
}

func notFinite(v reflect.Value) (path string, found bool) {
	switch v.Kind() {
	case reflect.Float64:
		f := v.Float()
		return "", math.IsNaN(f) || math.IsInf(f, 0)
	case reflect.Pointer:
		if !v.IsNil() {
			return notFinite(v.Elem())
		}
	case reflect.Slice, reflect.Array:
		if k := v.Type().Elem().Kind(); k == reflect.String || k == reflect.Bool {
			return "", false
		}
		for i := range v.Len() {
			if p, bad := notFinite(v.Index(i)); bad {
				return fmt.Sprintf("[%d]%s", i, p), true
			}
		}
	case reflect.Struct:
		for i := range v.NumField() {
			f := v.Type().Field(i)
			if !f.IsExported() {
				continue
			}
			if p, bad := notFinite(v.Field(i)); bad {
				name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
				if f.Anonymous && name == "" {
					return p, true
				}
				return "." + name + p, true
			}
		}
	}
	return "", false
}
