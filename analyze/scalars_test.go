package analyze

import (
	"reflect"
	"strings"
	"testing"
)

// Every Figure field of Result, at any depth, is listed once in Scalars. Figures of list entries (harsh sections) are
// events and not scalars; the bands of the spectrum are.
func TestScalarsComplete(t *testing.T) {
	res := &Result{}
	res.Spectrum.Bands = []Band{{Name: "chassis"}, {Name: "wheel"}, {Name: "chatter"}}
	paths := map[float64]string{}
	number(reflect.ValueOf(res).Elem(), "Result", paths)
	if len(paths) < 80 {
		t.Fatalf("the walk found %d figures only", len(paths))
	}
	keys, labels := map[string]bool{}, map[string]bool{}
	for _, s := range res.Scalars() {
		v, ok := s.Figure.Get()
		if _, known := paths[v]; !ok || !known {
			t.Errorf("%s is no figure of the result, or is listed twice", s.Key)
		}
		delete(paths, v)
		if keys[s.Key] || labels[s.Group+s.Label+s.Unit] {
			t.Errorf("key or label of %s is not unique", s.Key)
		}
		keys[s.Key], labels[s.Group+s.Label+s.Unit] = true, true
		if s.Key == "" || s.Group == "" || s.Label == "" || s.Key != strings.ToLower(s.Key) {
			t.Errorf("scalar %+v lacks a name", s)
		}
		for suffix, unit := range map[string]string{
			"_mm": "mm", "_mm_s": "mm/s", "_s": "s", "_pct": "%", "_hz": "Hz", "_per_min": "1/min", "_share": "share",
		} {
			if strings.HasSuffix(s.Key, suffix) && s.Unit != unit && !(suffix == "_s" && strings.HasSuffix(s.Key, "_mm_s")) {
				t.Errorf("%s has the unit %q", s.Key, s.Unit)
			}
		}
	}
	for _, p := range paths {
		t.Errorf("%s is missing from Scalars", p)
	}
}

// number gives every Figure under v a value of its own and notes where it was.
func number(v reflect.Value, path string, paths map[float64]string) {
	switch {
	case v.Type() == reflect.TypeFor[Figure]():
		if v.CanSet() { // unexported figures are working state
			n := float64(len(paths) + 1)
			paths[n] = path
			v.Set(reflect.ValueOf(Value(n, 1)))
		}
	case v.Kind() == reflect.Struct:
		for i := range v.NumField() {
			number(v.Field(i), path+"."+v.Type().Field(i).Name, paths)
		}
	case v.Type() == reflect.TypeFor[[]Band]():
		for i := range v.Len() {
			number(v.Index(i), path+"."+v.Index(i).FieldByName("Name").String(), paths)
		}
	}
}
