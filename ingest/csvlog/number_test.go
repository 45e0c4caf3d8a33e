package csvlog

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// checkNumber compares with strconv.ParseFloat bit by bit.
func checkNumber(t interface {
	Helper()
	Errorf(string, ...any)
}, text string) {
	t.Helper()
	want, err := strconv.ParseFloat(text, 64)
	got, _, ok := parseNumber([]byte(text), '.')
	if ok != (err == nil) || ok && math.Float64bits(got) != math.Float64bits(want) {
		t.Errorf("%q: %v %v, want %v %v", text, got, ok, want, err)
	}
	comma, _, commaOK := parseNumber([]byte(strings.Replace(text, ".", ",", 1)), ',')
	if commaOK != ok || math.Float64bits(comma) != math.Float64bits(got) {
		t.Errorf("%q with a comma: %v %v", text, comma, commaOK)
	}
	if v, n, _ := scanPlain([]byte(text+";"), '.'); n == len(text) && n > 0 && math.Float64bits(v) != math.Float64bits(want) {
		t.Errorf("%q: quick way %v, want %v", text, v, want)
	}
}

func TestNumberIsStrconv(t *testing.T) {
	for _, text := range []string{"0", "-0", "+0", "-0.0", "1", "1.", ".5", "-.5", "+12.50", "007", "9007199254740991", "9007199254740992", "9007199254740993",
		"0.1", "0.3", "123456789.123456789", "999999999999999999", "9999999999999999999", "18446744073709551616", "1e22", "1e23", "8.5e-320", "5e-324", "1e-400",
		"1.7976931348623157e308", "1e309", "-1e309", "0.000000000000000001", "0.0000000000000000000000000000001", "1e", "e5", ".", "+", "-", "", "1.2.3", "--1", "1-", " 1", "1 ", "1e+05", "1E-5",
		strings.Repeat("9", 400), "0." + strings.Repeat("3", 100)} {
		checkNumber(t, text)
	}
	for _, text := range []string{"NaN", "inf", "Infinity", "0x10", "0x1p-2", "1_000", "1,5"} { // our numbers are plain
		if v, _, ok := parseNumber([]byte(text), '.'); ok {
			t.Errorf("%q is read as %v", text, v)
		}
	}
}

func TestNumberIsStrconvProperty(t *testing.T) {
	shapes := rapid.OneOf(
		rapid.StringMatching(`[+-]?[0-9]{1,20}(\.[0-9]{0,25})?`),
		rapid.StringMatching(`[+-]?[0-9]{0,17}\.[0-9]{1,17}`),
		rapid.StringMatching(`[+-]?[0-9]{1,5}(\.[0-9]{0,9})?([eE][+-]?[0-9]{1,3})?`),
		rapid.Map(rapid.Float64(), func(v float64) string {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				v = 0
			}
			return strconv.FormatFloat(v, 'f', -1, 64)
		}),
		rapid.Map(rapid.Float64Range(-5000, 5000), func(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }),
	)
	rapid.Check(t, func(t *rapid.T) { checkNumber(t, shapes.Draw(t, "text")) })
}
