package compare

import (
	"encoding/json"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"stanchion/analyze"
	"stanchion/analyze/signal"
)

func close(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s = %.12g, want %.12g ± %g", what, got, want, tolerance)
	}
}

func seq(from, to int) (out []float64) {
	for i := from; i <= to; i++ {
		out = append(out, float64(i))
	}
	return out
}

// Published examples, to the digits printed.
func TestWelchPublished(t *testing.T) {
	for _, c := range []struct {
		name                     string
		a, b                     []float64 // the difference printed is a − b
		t, df, p, low, high, tol float64
	}{
		// R data set sleep (Student 1908), R t.test.
		{"sleep", []float64{.7, -1.6, -.2, -1.2, -.1, 3.4, 3.7, .8, 0, 2}, []float64{1.9, .8, 1.1, .1, -.1, 4.4, 5.5, 1.6, 4.6, 3.4},
			-1.8608135, 17.776474, 0.07939414, -3.3654833, .2054832, 1e-6},
		// Example of R's help on t.test.
		{"t.test", seq(1, 10), seq(7, 20), -5.4349298, 21.982212, 1.855282e-05, math.NaN(), 0, 1e-6},
		{"t.test, 200 appended", seq(1, 10), append(seq(7, 20), 200), math.NaN(), 0, 0.1245135, math.NaN(), 0, 1e-7},
		// Efron & Tibshirani 1993, Table 2.1 (mouse data), from memory and recomputed.
		{"mice", []float64{94, 197, 16, 38, 99, 141, 23}, []float64{52, 104, 146, 10, 51, 30, 40, 27, 46},
			1.058711, 9.654490, 0.315501, math.NaN(), 0, 1e-6},
	} {
		r, ok := welch(describe(c.b), describe(c.a))
		if !ok {
			t.Fatal(c.name)
		}
		if !math.IsNaN(c.t) {
			close(t, c.name+": t", r.t, c.t, c.tol)
			close(t, c.name+": df", r.df, c.df, c.tol)
		}
		close(t, c.name+": p", r.p, c.p, c.tol)
		if !math.IsNaN(c.low) {
			close(t, c.name+": low", r.low, c.low, c.tol)
			close(t, c.name+": high", r.high, c.high, c.tol)
		}
	}
	mice, _ := welch(describe([]float64{52, 104, 146, 10, 51, 30, 40, 27, 46}), describe([]float64{94, 197, 16, 38, 99, 141, 23}))
	close(t, "mice: difference", mice.diff, 30.634921, 1e-6)
	close(t, "mice: standard error", mice.se, 28.936067, 1e-6)
	// Tables of Student's t: t = 2.228138852 at 10 degrees of freedom is two-sided 5 %.
	close(t, "t table", newTTest(2.228138852, 1, 10).p, 0.05, 1e-9)
	close(t, "t table", newTTest(2, 1, 5).p, 0.10193947883, 1e-10)
}

// Mean and standard deviation of NIST StRD sets NumAcc1–4 (certified values from the data files, the rest from memory).
func TestDescribeNIST(t *testing.T) {
	series := func(first, a, b float64) []float64 {
		out := []float64{first}
		for range 500 {
			out = append(out, a, b)
		}
		return out
	}
	for _, c := range []struct {
		name          string
		data          []float64
		mean, sd, tol float64
	}{
		{"NumAcc1", []float64{10000001, 10000003, 10000002}, 10000002, 1, 0},
		{"NumAcc2", series(1.2, 1.1, 1.3), 1.2, 0.1, 1e-12},
		{"NumAcc3", series(1000000.2, 1000000.1, 1000000.3), 1000000.2, 0.1, 1e-9},
		{"NumAcc4", series(10000000.2, 10000000.1, 10000000.3), 10000000.2, 0.1, 1e-8}, // the data themselves round
	} {
		s := describe(c.data)
		close(t, c.name+": mean", s.mean, c.mean, c.tol)
		close(t, c.name+": sd", s.sd(), c.sd, c.tol)
	}
	// Lew, observed data: all digits of the certified values. testdata/lew.txt holds the 200 values of NIST's Lew.dat in its order.
	lew := lewData(t)
	s := describe(lew)
	close(t, "Lew: mean", s.mean, -177.435, 1e-12)
	close(t, "Lew: sd", s.sd(), 277.332168044316, 1e-11)
	// The product has no autocorrelation; that of lag 1 holds that the values stand in the order of the file.
	var lag, all float64
	for i, v := range lew {
		all += (v - s.mean) * (v - s.mean)
		if i > 0 {
			lag += (v - s.mean) * (lew[i-1] - s.mean)
		}
	}
	close(t, "Lew: autocorrelation of lag 1", lag/all, -0.307304800605679, 1e-14)
}

func lewData(t *testing.T) (out []float64) {
	t.Helper()
	raw, err := os.ReadFile("testdata/lew.txt")
	if err != nil {
		t.Fatal(err)
	}
	for _, line := range strings.Fields(string(raw)) {
		v, err := strconv.ParseFloat(line, 64)
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, v)
	}
	if len(out) != 200 {
		t.Fatalf("%d values, want 200", len(out))
	}
	return out
}

func TestHolmPublished(t *testing.T) {
	for _, c := range []struct{ p, want []float64 }{
		{[]float64{.50, .003, .32, .054, .0003}, []float64{.64, .012, .64, .162, .0015}}, // example of pingouin's multicomp
		{[]float64{.01, .04, .03, .005}, []float64{.03, .06, .06, .02}},                  // computed in R p.adjust
		{[]float64{}, []float64{}},
		{[]float64{.7, .9}, []float64{1, 1}},
	} {
		for i, got := range holm(c.p) {
			close(t, "holm", got, c.want[i], 1e-12)
		}
	}
}

func TestMannWhitneyPublished(t *testing.T) {
	// Hollander & Wolfe 1973, in the example of R's help on wilcox.test.
	x, y := []float64{.80, .83, 1.89, 1.04, 1.45, 1.38, 1.91, 1.64, .73, 1.46}, []float64{1.15, .88, .90, .74, 1.21}
	u, p := mannWhitney(x, y)
	close(t, "U", u, 35, 0)
	close(t, "exact p", p, .2544122544, 1e-10)
	close(t, "normal p", mannWhitneyNormal(35, 10, 5, 0), .24462361, 1e-8)
	// Example of SciPy's documentation of mannwhitneyu.
	u, p = mannWhitney([]float64{19, 22, 16, 29, 24}, []float64{20, 11, 17, 12})
	close(t, "U", u, 17, 0)
	close(t, "exact p", p, .1111111111, 1e-10)
	close(t, "normal p", mannWhitneyNormal(17, 5, 4, 0), .11134689, 1e-8)
	u, p = mannWhitney([]float64{1, 2, 2, 3}, []float64{2, 3, 4, 5}) // ties; midranks by hand
	close(t, "U with ties", u, 2.5, 0)
	close(t, "p with ties", p, .13665825, 1e-8)
	// SciPy's test_hypotests.py, TestMannWhitneyU, whose values are from R's wilcox.test.
	u, p = mannWhitney([]float64{210.052110, 110.190630, 307.918612}, []float64{436.08811482466416, 416.37397329768191, 179.96975939463582,
		197.8118754228619, 34.038757281225756, 138.54220550921517, 128.7769351470246, 265.92721427951852, 275.6617533155341,
		592.34083395416258, 448.73177590617018, 300.61495185038905, 187.97508449019588})
	close(t, "U of 3 and 13", u, 16, 0)
	close(t, "exact p of 3 and 13", p, .7035714285714, 1e-13)
	close(t, "normal p of 3 and 13", mannWhitneyNormal(16, 3, 13, 0), .6865041817876, 1e-13)
	// R's example of wilcox.test with ties: Ozone of May and of August in the data set airquality, values there.
	u, p = mannWhitney([]float64{41, 36, 12, 18, 28, 23, 19, 8, 7, 16, 11, 14, 18, 14, 34, 6, 30, 11, 1, 11, 4, 32, 23, 45, 115, 37},
		[]float64{39, 9, 16, 78, 35, 66, 122, 89, 110, 44, 28, 65, 22, 59, 23, 31, 44, 21, 9, 45, 168, 73, 76, 118, 84, 85})
	close(t, "U of May and August", u, 127.5, 0)
	close(t, "p of May and August", p, .0001208078, 5e-11)
	// The tie correction against R's wilcox.test(exact = FALSE): SciPy's test_tie_correct.
	for _, c := range []struct {
		y    []float64
		u, p float64
	}{
		{[]float64{1, 2, 3, 4, 5}, 8, 0.7086240584439},
		{[]float64{1, 2, 2.99, 4, 5}, 8.5, 0.804080657472},
		{[]float64{1, 1.99, 3, 3.99, 5}, 9, 0.9017048037317},
		{[]float64{1, 2.01, 3, 4.01, 5}, 7, 0.5368784563079},
	} {
		u, p = mannWhitney(seq(1, 4), c.y)
		close(t, "U of the tie correction", u, c.u, 0)
		close(t, "p of the tie correction", p, c.p, 1e-12)
	}
}

// A run that stands out hides a difference from the t test, which the rank test sees.
func TestRanksDisagree(t *testing.T) {
	note := func(a, b []float64) string {
		d := Difference{ValuesA: figures(a), ValuesB: figures(b), Estimate: estimate(figures(a), figures(b))}
		d.RankP = rankP(d.ValuesA, d.ValuesB)
		return strings.Join(ranksDisagree(&d), "; ")
	}
	// All of B above all of A: exact p = 2/252; the outlier makes Welch's p 0.33.
	if got := note(seq(1, 5), []float64{6, 7, 8, 9, 100}); !strings.HasPrefix(got, "by their ranks the runs do differ (rank test p = 0.008)") {
		t.Errorf("a difference hidden by one run: %q", got)
	}
	for name, c := range map[string][2][]float64{
		"both clear": {seq(1, 5), seq(6, 10)}, "both not": {seq(1, 5), seq(2, 6)}, "three a side": {seq(1, 3), {6, 7, 100}},
	} {
		if got := note(c[0], c[1]); got != "" {
			t.Errorf("%s: %q", name, got)
		}
	}
	d := Difference{Estimate: Estimate{RunsA: 4, RunsB: 4, P: analyze.Value(0.01, 8)}, RankP: analyze.Value(0.34, 8)}
	if got := strings.Join(ranksDisagree(&d), ""); got != "the ranks of the runs do not confirm it (rank test p = 0.34): look for a single run that stands out" {
		t.Errorf("not confirmed: %q", got)
	}
}

func TestSpearmanPublished(t *testing.T) {
	// The encyclopaedia example of intelligence and hours of television: ρ = −29/165, Σd² = 194.
	iq, tv := []float64{106, 100, 86, 101, 99, 103, 97, 113, 112, 110}, []float64{7, 27, 2, 50, 28, 29, 20, 12, 6, 17}
	rho, p, _ := spearman(iq, tv)
	close(t, "rho", rho, -29.0/165, 1e-15)
	close(t, "p by t", p, .6271883448, 1e-10)
	// SciPy's docstring of spearmanr, with a tie.
	rho, _, _ = spearman(seq(1, 5), []float64{5, 6, 7, 8, 7})
	close(t, "rho with a tie", rho, .8207826816681233, 1e-15)
	close(t, "p by t", spearmanT(rho, 5), .0885870053, 1e-10)
	// Hollander & Wolfe 1973 p. 187, in R's help on cor.test; R's exact p.
	l, y := []float64{44.4, 45.9, 41.9, 53.3, 44.7, 44.1, 50.7, 45.2, 60.1}, []float64{2.6, 3.1, 2.5, 5.0, 3.6, 4.0, 5.2, 2.8, 3.8}
	rho, p, _ = spearman(l, y)
	close(t, "rho", rho, .6, 1e-15)
	close(t, "exact p", p, .09679784, 1e-8)
	// A perfect order of n values has two of n! orders as extreme.
	_, p, _ = spearman(seq(1, 4), seq(1, 4))
	close(t, "p of a perfect order", p, 2.0/24, 1e-15)
}

func TestTheilSenPublished(t *testing.T) {
	// Sen 1968, as in SciPy's test_correlation: slope 4 and the 93 % interval 26/7 to 35/8.
	l, _ := theilSen([]float64{1, 2, 3, 4, 10, 12, 18}, []float64{9, 15, 19, 20, 45, 55, 78}, 0.93)
	close(t, "slope", l.slope, 4, 1e-15)
	close(t, "low", l.low, 26.0/7, 1e-14)
	close(t, "high", l.high, 35.0/8, 1e-14)
	l, _ = theilSen(seq(1, 5), []float64{1, 2, 3, 4, 100}, 0.95)
	close(t, "slope past an outlier", l.slope, 1, 0)
	if _, ok := theilSen([]float64{3, 3, 3}, seq(1, 3), 0.95); ok {
		t.Error("a slope without two positions")
	}
	if l, _ := theilSen(seq(1, 3), seq(1, 3), 0.95); l.bounded {
		t.Error("three pairs of runs cannot bound a slope at 95 %")
	}
}

// Scores of the moving-block resampling against the ideal bootstrap: blocks of one unit resample units with replacement, and
// the standard error of a mean must approach sqrt(Σ(x − x̄)²)/n: Efron & Tibshirani 1993 Table 2.2, 23.36 for the treated mice.
func TestResamplingMean(t *testing.T) {
	treated := []float64{94, 197, 16, 38, 99, 141, 23}
	mean := []partial{{"mean", func(t *tally, _ *gauge) (float64, bool) { return t.sum[sumX] / t.sum[sumN], true }}}
	var units [2][]tally
	for _, x := range treated {
		zero, unit := newTally(), newTally()
		zero.sum[sumN], unit.sum[sumN], unit.sum[sumX] = 1, 1, x
		units[0], units[1] = append(units[0], zero), append(units[1], unit)
	}
	d := resampled(mean, [2]gauge{}, units, len(treated), 1, 20000, 1)[0]
	close(t, "standard error", describe(d).sd(), 23.3635234, 0.03*23.3635234)
	close(t, "mean", describe(d).mean, 608.0/7, 0.6)
}

// The same table: 37.83 for the median of the treated mice (37.8346744 by counting all resamples). The median is the product's own,
// from a histogram with a bin for each whole number.
func TestResamplingMedian(t *testing.T) {
	var median []partial
	for _, f := range partials() {
		if f.key == "sag.dynamic_median_mm" {
			median = append(median, f)
		}
	}
	g := gauge{travel: signal.Binner{First: -0.5, Width: 1, Bins: travelBinsN}}
	var units [2][]tally
	for _, x := range []float64{94, 197, 16, 38, 99, 141, 23} {
		zero, unit := newTally(), newTally()
		zero.hist[0], unit.hist[g.travel.Index(x)] = 1, 1
		units[0], units[1] = append(units[0], zero), append(units[1], unit)
	}
	d := resampled(median, [2]gauge{g, g}, units, 7, 1, 20000, 1)[0]
	close(t, "standard error", describe(d).sd(), 37.8346744, 0.03*37.8346744)
}

func TestTails(t *testing.T) {
	close(t, "one-sided", tails([]float64{1, 2, 3}), 0.5, 0) // 2·(0 + 1)/(3 + 1)
	close(t, "both sides", tails([]float64{-1, 1, -2, 2}), 1, 0)
	close(t, "all zero", tails([]float64{0, 0}), 1, 0)
}

// SciPy's answers to made-up data; testdata/stats_reference.py makes them.
func TestAgainstSciPy(t *testing.T) {
	raw, err := os.ReadFile("testdata/stats_reference.json")
	if err != nil {
		t.Fatal(err)
	}
	var ref struct {
		Welch []struct {
			A, B                []float64
			T, P, DF, Low, High float64
		}
		MannWhitney []struct {
			X, Y  []float64
			U, P  float64
			Exact bool
		} `json:"mann_whitney"`
		Spearman []struct {
			X, Y   []float64
			Rho    float64
			PT     float64  `json:"p_t"`
			PExact *float64 `json:"p_exact"`
		}
		TheilSen []struct {
			X, Y             []float64
			Slope, Low, High float64
		} `json:"theil_sen"`
		Isotonic []struct{ Y, W, Fit []float64 }
		Needed   []struct {
			Effect, Alpha float64
			N             int
		} `json:"runs_needed"`
	}
	if err := json.Unmarshal(raw, &ref); err != nil {
		t.Fatal(err)
	}
	if len(ref.Welch) < 18 || len(ref.MannWhitney) < 18 || len(ref.Spearman) < 12 || len(ref.TheilSen) < 12 || len(ref.Isotonic) < 3 || len(ref.Needed) < 12 {
		t.Fatal("references are missing")
	}
	for _, c := range ref.Welch {
		r, _ := welch(describe(c.A), describe(c.B))
		close(t, "welch t", r.t, c.T, 1e-9*math.Abs(c.T))
		close(t, "welch df", r.df, c.DF, 1e-9*c.DF)
		close(t, "welch p", r.p, c.P, 1e-9)
		close(t, "welch low", r.low, c.Low, 1e-7*(1+math.Abs(c.Low)))
		close(t, "welch high", r.high, c.High, 1e-7*(1+math.Abs(c.High)))
	}
	for _, c := range ref.MannWhitney {
		u, p := mannWhitney(c.X, c.Y)
		close(t, "U", u, c.U, 0)
		close(t, "Mann–Whitney p", p, c.P, 1e-10)
	}
	for _, c := range ref.Spearman {
		rho, p, _ := spearman(c.X, c.Y)
		close(t, "rho", rho, c.Rho, 1e-12)
		close(t, "Spearman p by t", spearmanT(rho, len(c.X)), c.PT, 1e-9)
		if c.PExact != nil {
			close(t, "Spearman exact p", p, *c.PExact, 1e-12)
		}
	}
	for _, c := range ref.TheilSen {
		l, _ := theilSen(c.X, c.Y, 0.95)
		close(t, "slope", l.slope, c.Slope, 1e-12)
		if l.bounded { // SciPy clips the ranks where there are too few pairs; here the interval is absent
			close(t, "slope low", l.low, c.Low, 1e-12)
			close(t, "slope high", l.high, c.High, 1e-12)
		}
	}
	for _, c := range ref.Isotonic {
		for i, v := range isotonic(c.Y, c.W) {
			close(t, "isotonic", v, c.Fit[i], 1e-12)
		}
	}
	for _, c := range ref.Needed {
		n, ok := runsNeeded(c.Effect, 1, c.Alpha, 0.8)
		if !ok || n < c.N-1 || n > c.N+1 {
			t.Errorf("runs needed for %g at %g: %d, want %d ± 1", c.Effect, c.Alpha, n, c.N)
		}
	}
}

// The spread without repeated positions is exact for a straight response and finds the noise put on one.
func TestSpread(t *testing.T) {
	x, y := seq(0, 399), make([]float64, 400)
	for i := range y {
		y[i] = 3 * x[i]
	}
	if sd, df, repeated := spread(x, y); sd > 1e-9 || df != 398 || repeated {
		t.Errorf("of a line: %g, %d, %v", sd, df, repeated)
	}
	state := uint64(7)
	for i := range y {
		state = state*6364136223846793005 + 1442695040888963407
		y[i] += float64(state>>40)/(1<<24) - 0.5 // uniform, sd 1/√12
	}
	sd, _, _ := spread(x, y)
	close(t, "of uniform noise", sd, 1/math.Sqrt(12), 0.03)
	sd, df, repeated := spread([]float64{1, 2, 1, 2}, []float64{0, 10, 2, 14})
	if !repeated || df != 2 {
		t.Errorf("repeats: %d, %v", df, repeated)
	}
	close(t, "pooled", sd, math.Sqrt((2.0+8)/2), 1e-12)
}
