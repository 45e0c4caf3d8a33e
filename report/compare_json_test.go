package report

import (
	"reflect"
	"testing"

	"stanchion/analyze/compare"
)

// compareKeys are the paths of the JSON of a comparison and of a sweep, each with its name before it.
func compareKeys(t *testing.T) map[string]string {
	t.Helper()
	c, s := &compare.Comparison{}, &compare.SweepResult{}
	fill(reflect.ValueOf(c).Elem())
	fill(reflect.ValueOf(s).Elem())
	out := map[string]string{}
	for path, kind := range keysOf(t, c) {
		out["comparison."+path] = kind
	}
	for path, kind := range keysOf(t, s) {
		out["sweep."+path] = kind
	}
	return out
}

func TestCompareSchemaDocumentsEveryField(t *testing.T) {
	holdSchema(t, "schema-compare.md", compareKeys(t))
}
