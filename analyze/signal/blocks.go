package signal

import (
	"math"

	"gonum.org/v1/gonum/dsp/fourier"
)

// Blocks are filtered in groups; a group is the unit of work that a core takes. How they are grouped does not change the
// result.
const (
	minBlock   = 4096 // transform length; 2000 to 8000 samples are about equally fast
	blockReach = 8    // least transform length over the reach of the filter
	maxGroup   = 8    // blocks in a group
	minGroups  = 16   // groups where there are blocks for as many
)

// blocks is the plan of a filtering by overlap-save: transforms of size samples, of which all but reach at either end are
// output. With the reach of the filter this equals one transform over everything.
type blocks struct {
	n     int       // samples
	reach int       // discarded at either end of a transform
	size  int       // of a transform
	step  int       // output samples of a block
	gain  []float64 // |H|² of each bin up to half the rate, over size, which the transforms leave to their caller
	turn  float64   // f/fc of bin 1
	speed float64   // 2πfc
}

func newBlocks(f LowPass, n int) *blocks {
	b := &blocks{n: n, reach: f.reach()}
	b.size = minBlock
	for b.size < blockReach*b.reach {
		b.size *= 2
	}
	if whole := n + 2*b.reach; whole <= b.size {
		b.size = goodLength(whole)
	}
	b.step = b.size - 2*b.reach
	stepHz := f.RateHz / float64(b.size)
	b.turn, b.speed = stepHz/f.CutoffHz, 2*math.Pi*f.CutoffHz
	b.gain = make([]float64, b.size/2+1)
	warped := f.warped()
	for k := range b.gain {
		b.gain[k] = f.gain(float64(k)*stepHz, warped) / float64(b.size)
	}
	return b
}

// goodLength is the least even length of at least n that is a power of two times 1, 3, 5, 9 or 15: quick to transform.
func goodLength(n int) int {
	best := math.MaxInt
	for _, odd := range []int{1, 3, 5, 9, 15} {
		l := 2 * odd
		for l < n {
			l *= 2
		}
		best = min(best, l)
	}
	return best
}

// run filters src into x and, if it is not nil, v. What a block reads and another may have overwritten, if x is src, is
// set aside first: the samples about every border of two groups, and the reflection beyond the end.
func (b *blocks) run(x, v, src []float64) {
	count := (b.n + b.step - 1) / b.step
	span := b.step * max(1, min(maxGroup, count/minGroups))
	groups := (b.n + span - 1) / span
	borders := make([][]float64, groups)
	for g := range borders {
		borders[g] = make([]float64, 2*b.reach)
		for i := range borders[g] {
			borders[g][i] = reflected(src, g*span-b.reach+i)
		}
	}
	tail := make([]float64, b.reach)
	for i := range tail {
		tail[i] = reflected(src, b.n+i)
	}
	OnAllCores(groups, func() func(int) {
		w := newBlockWorker(b, v != nil)
		return func(g int) {
			var end []float64
			if g+1 < groups {
				end = borders[g+1]
			}
			w.group(x, v, src, g*span, min(b.n, (g+1)*span), borders[g], end, tail)
		}
	})
}

// reflected is src[i], and beyond the ends its odd reflection 2·src[0]−src[−i], 2·src[n−1]−src[2(n−1)−i], repeated.
func reflected(src []float64, i int) float64 {
	last := len(src) - 1
	if i >= 0 && i <= last {
		return src[i]
	}
	if last == 0 {
		return src[0]
	}
	// Two reflections are a shift by 2·last samples that adds twice the rise from end to end.
	turns := math.Floor(float64(i) / float64(2*last))
	i -= int(turns) * 2 * last
	drift := 2 * turns * (src[last] - src[0])
	if i > last {
		return drift + 2*src[last] - src[2*last-i]
	}
	return drift + src[i]
}

// blockWorker holds the buffers and transforms of one core.
type blockWorker struct {
	*blocks
	in   []float64
	half []complex128 // spectrum of in
	fft  *fourier.FFT
	// With the derivative: x + jv, its spectrum before.
	both  []complex128
	cmplx *fourier.CmplxFFT
	// Without: x alone.
	alone []float64
}

func newBlockWorker(b *blocks, derivative bool) *blockWorker {
	w := &blockWorker{
		blocks: b, in: make([]float64, b.size), half: make([]complex128, b.size/2+1), fft: fourier.NewFFT(b.size),
	}
	if derivative {
		w.both, w.cmplx = make([]complex128, b.size), fourier.NewCmplxFFT(b.size)
	} else {
		w.alone = make([]float64, b.size)
	}
	return w
}

// group filters the samples from..to block by block. start holds the input about from, end that about to, nil where to
// is the end of src, and tail the input beyond that.
func (w *blockWorker) group(x, v, src []float64, from, to int, start, end, tail []float64) {
	copy(w.in, start)
	for at := from; at < to; at += w.step {
		if end != nil && at+w.step == to {
			w.fill(src[:to-w.reach], at+w.reach, end)
		} else {
			w.fill(src, at+w.reach, tail)
		}
		w.fft.Coefficients(w.half, w.in)
		n := min(w.step, to-at)
		if v == nil {
			w.filter(x[at : at+n])
		} else {
			w.filterBoth(x[at:at+n], v[at:at+n])
		}
		copy(w.in[:2*w.reach], w.in[w.step:])
	}
}

// fill reads the input of a block behind the part carried over from the last one: src from the sample i on, then what
// follows src, then its last value.
func (w *blockWorker) fill(src []float64, i int, follows []float64) {
	rest := w.in[2*w.reach:]
	if i < len(src) {
		rest = rest[copy(rest, src[i:]):]
		i = len(src)
	}
	rest = rest[copy(rest, follows[i-len(src):]):]
	for k := range rest {
		rest[k] = follows[len(follows)-1]
	}
}

// filter turns the spectrum into x.
func (w *blockWorker) filter(x []float64) {
	for k, c := range w.half {
		g := w.gain[k]
		w.half[k] = complex(g*real(c), g*imag(c))
	}
	w.fft.Sequence(w.alone, w.half)
	copy(x, w.alone[w.reach:])
}

// filterBoth turns the spectrum X into x and v by one complex transform. With u = v/(2πfc), which is about the size of x,
// x + ju has the spectrum |H|²·X·(1 + j·jf/fc), that is |H|²·X·(1 − f/fc) at f and conj(|H|²·X)·(1 + f/fc) at −f.
func (w *blockWorker) filterBoth(x, v []float64) {
	last := len(w.half) - 1
	for k, c := range w.half {
		re, im := w.gain[k]*real(c), w.gain[k]*imag(c)
		turn := w.turn * float64(k)
		switch k {
		case 0, last: // at fs/2 the derivative is zero
			w.both[k] = complex(re, 0)
		default:
			w.both[k] = complex(re*(1-turn), im*(1-turn))
			w.both[w.size-k] = complex(re*(1+turn), -im*(1+turn))
		}
	}
	w.cmplx.Sequence(w.both, w.both)
	for i, z := range w.both[w.reach : w.reach+len(x)] {
		x[i], v[i] = real(z), w.speed*imag(z)
	}
}
