package report

import (
	"bytes"
	"encoding/json"
	"flag"
	"fmt"
	"math"
	"os"
	"reflect"
	"slices"
	"strings"
	"testing"

	"stanchion/analyze"
	"stanchion/ingest"
)

var update = flag.Bool("update", false, "write the golden files anew")

// fill sets every field of a value to something that is not its zero, so that no key is left out of the JSON.
func fill(v reflect.Value) {
	if _, ok := v.Interface().(analyze.Figure); ok {
		v.Set(reflect.ValueOf(analyze.Value(1.5, 7, "a caveat")))
		return
	}
	switch v.Kind() {
	case reflect.String:
		v.SetString("text")
	case reflect.Bool:
		v.SetBool(true)
	case reflect.Int, reflect.Int64:
		v.SetInt(3)
	case reflect.Uint64:
		v.SetUint(4)
	case reflect.Float64:
		v.SetFloat(2.5)
	case reflect.Pointer:
		v.Set(reflect.New(v.Type().Elem()))
		fill(v.Elem())
	case reflect.Map:
		e := reflect.New(v.Type().Elem()).Elem()
		fill(e)
		v.Set(reflect.MakeMap(v.Type()))
		v.SetMapIndex(reflect.ValueOf("NAME").Convert(v.Type().Key()), e)
	case reflect.Slice:
		v.Set(reflect.MakeSlice(v.Type(), 1, 1))
		fill(v.Index(0))
	case reflect.Array:
		for i := range v.Len() {
			fill(v.Index(i))
		}
	case reflect.Struct:
		for i := range v.NumField() {
			if f := v.Type().Field(i); f.IsExported() && f.Tag.Get("json") != "-" {
				fill(v.Field(i))
			}
		}
	}
}

func filled() *analyze.Result {
	r := &analyze.Result{}
	fill(reflect.ValueOf(r).Elem())
	return r
}

// keys walks decoded JSON and lists the path and kind of every value; a figure counts as one value.
func keys(v any, path string, out map[string]string) {
	switch x := v.(type) {
	case map[string]any:
		if _, ok := x["value"]; ok && path != "" {
			out[path] = "figure"
			return
		}
		for k, e := range x {
			keys(e, strings.TrimPrefix(path+"."+k, "."), out)
		}
	case []any:
		for _, e := range x {
			keys(e, path+"[]", out)
		}
	default:
		out[path] = strings.TrimSuffix(fmt.Sprintf("%T", v), "64")
	}
}

func filledKeys(t *testing.T) map[string]string {
	t.Helper()
	return keysOf(t, filled())
}

// keysOf are the paths of the JSON of what r points to, with their kinds.
func keysOf(t *testing.T, r any) map[string]string {
	t.Helper()
	var b bytes.Buffer
	if err := writeJSON(&b, r); err != nil {
		t.Fatal(err)
	}
	var v any
	if err := json.Unmarshal(b.Bytes(), &v); err != nil {
		t.Fatal(err)
	}
	out := map[string]string{}
	keys(v, "", out)
	return out
}

// TestJSONShape holds the form of the result against a golden list: a change must be meant, and may need a new
// schema version.
func TestJSONShape(t *testing.T) {
	var lines []string
	for path, kind := range filledKeys(t) {
		lines = append(lines, path+" "+kind)
	}
	slices.Sort(lines)
	got := strings.Join(lines, "\n") + "\n"
	const name = "testdata/shape.golden"
	if *update {
		if err := os.WriteFile(name, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	if got != string(want) {
		t.Errorf("the form of the JSON changed; if that is meant, run go test ./report -run JSONShape -update and think of SchemaVersion.\n%s", difference(string(want), got))
	}
}

// difference lists the lines that only one side has.
func difference(want, got string) string {
	w, g := strings.Split(want, "\n"), strings.Split(got, "\n")
	var out []string
	for _, l := range w {
		if !slices.Contains(g, l) {
			out = append(out, "- "+l)
		}
	}
	for _, l := range g {
		if !slices.Contains(w, l) {
			out = append(out, "+ "+l)
		}
	}
	return strings.Join(out, "\n")
}

// TestSchemaDocumentsEveryField holds schema.md against the JSON, both ways.
func TestSchemaDocumentsEveryField(t *testing.T) {
	holdSchema(t, "schema.md", filledKeys(t))
}

// holdSchema holds a page of the schema against the paths that there are.
func holdSchema(t *testing.T, page string, have map[string]string) {
	t.Helper()
	doc, err := os.ReadFile(page)
	if err != nil {
		t.Fatal(err)
	}
	documented := map[string]bool{}
	for _, l := range strings.Split(string(doc), "\n") {
		cells := strings.Split(l, "|")
		if len(cells) < 5 || !strings.HasPrefix(strings.TrimSpace(cells[1]), "`") {
			continue
		}
		path := strings.Trim(cells[1], " `")
		if strings.TrimSpace(cells[3]) == "" {
			t.Errorf("%s has no meaning", path)
		}
		documented[path] = true
	}
	for path := range have {
		if !documented[path] {
			t.Errorf("%s does not document %s", page, path)
		}
	}
	for path := range documented {
		if _, ok := have[path]; !ok {
			t.Errorf("%s documents %s, which is not in the JSON", page, path)
		}
	}
}

func TestJSONRoundTrip(t *testing.T) {
	real, _ := usual().run(t)
	for name, r := range map[string]*analyze.Result{"filled": filled(), "real": real, "nothing": empty()} {
		var b bytes.Buffer
		if err := JSON(&b, r); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		var got analyze.Result
		if err := json.Unmarshal(b.Bytes(), &got); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		var again bytes.Buffer
		if err := JSON(&again, &got); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if !bytes.Equal(b.Bytes(), again.Bytes()) {
			t.Errorf("%s: reading and writing again changes the JSON", name)
		}
		if want := *r; name == "filled" { // elsewhere an empty list of caveats, and no reason, come back as nil and "not computed"
			want.Strokes.List, want.Reversals.TimesCR, want.Reversals.TimesRC = nil, nil, nil
			if !reflect.DeepEqual(got, want) {
				t.Errorf("%s: reading the JSON gives another result", name)
			}
		}
	}
}

func TestNotFiniteIsNamed(t *testing.T) {
	r := empty()
	r.Rough.Sections = []analyze.HarshSection{{}, {RMSMMS: math.NaN()}}
	for _, write := range []func() error{
		func() error { return JSON(&bytes.Buffer{}, r) },
		func() error { return HTML(&bytes.Buffer{}, r, nil, HTMLOptions{}) },
	} {
		if err := write(); err == nil || !strings.Contains(err.Error(), "rough.sections[1].rms_mm_s") {
			t.Errorf("got %v, want an error that names rough.sections[1].rms_mm_s", err)
		}
	}
	r = empty()
	r.Quality.CalibrationRMSMM = math.Inf(1)
	if err := checkFinite(r); err == nil || !strings.Contains(err.Error(), "quality.calibration_rms_mm") {
		t.Errorf("got %v, want an error that names quality.calibration_rms_mm", err)
	}
}

func TestEveryOptionHasItsMeaning(t *testing.T) {
	for _, v := range []any{analyze.DefaultOptions(), ingest.DefaultPrepareOptions()} {
		for _, row := range optionRows(v) {
			if row.Cells[2].Text == "" {
				t.Errorf("option %q has no meaning in optionMeaning", row.Cells[0].Text)
			}
		}
	}
}
