package signal

import (
	"math"
	"runtime"
	"sync"
	"sync/atomic"

	"gonum.org/v1/gonum/dsp/fourier"
)

// Blocks are filtered in groups; a group is the unit of work that a core takes.
const (
	minBlock    = 4096 // transform length; shorter ones waste their ends, longer ones leave the cache
	blockReach  = 8    // least transform length over the reach of the filter
	groupBlocks = 8
)

// blocks is the plan of a filtering by overlap-save: transforms of size samples, of which all but reach at either end are
// output. With the reach of the filter this equals one transform over everything.
type blocks struct {
	n     int // samples
	reach int // discarded at either end of a transform
	size  int // of a transform
	step  int // output samples of a block
	// fold turns the spectrum X of the input into that of x + jv, all real: x + jv has the spectrum
	// H·X·(1 + j·j2πf), which is H·X·(1 − 2πf) at f and conj(H·X)·(1 + 2πf) at −f.
	plus, minus []float64
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
	half := b.size / 2
	b.plus, b.minus = make([]float64, half+1), make([]float64, half+1)
	for k := range b.plus {
		hz := float64(k) * f.RateHz / float64(b.size)
		gain := f.Gain(hz) / float64(b.size)
		omega := 2 * math.Pi * hz
		if k == half {
			omega = 0
		}
		b.plus[k], b.minus[k] = gain*(1-omega), gain*(1+omega)
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
	span := groupBlocks * b.step
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
	var next atomic.Int64
	var wait sync.WaitGroup
	for range min(groups, runtime.GOMAXPROCS(0)) {
		wait.Go(func() {
			w := newBlockWorker(b)
			for g := int(next.Add(1)) - 1; g < groups; g = int(next.Add(1)) - 1 {
				var end []float64
				if g+1 < groups {
					end = borders[g+1]
				}
				w.group(x, v, src, g*span, min(b.n, (g+1)*span), borders[g], end, tail)
			}
		})
	}
	wait.Wait()
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
	in      []float64
	half    []complex128
	full    []complex128
	forward *fourier.FFT
	inverse *fourier.CmplxFFT
}

func newBlockWorker(b *blocks) *blockWorker {
	return &blockWorker{
		blocks: b, in: make([]float64, b.size), half: make([]complex128, b.size/2+1), full: make([]complex128, b.size),
		forward: fourier.NewFFT(b.size), inverse: fourier.NewCmplxFFT(b.size),
	}
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
		w.transform()
		out := w.full[w.reach : w.reach+min(w.step, to-at)]
		for i, z := range out {
			x[at+i] = real(z)
		}
		if v != nil {
			for i, z := range out {
				v[at+i] = imag(z)
			}
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

// transform turns the input into x + jv with one real and one complex transform.
func (w *blockWorker) transform() {
	w.forward.Coefficients(w.half, w.in)
	last := len(w.half) - 1
	w.full[0] = complex(real(w.half[0])*w.plus[0], 0)
	w.full[last] = complex(real(w.half[last])*w.plus[last], 0)
	for k := 1; k < last; k++ {
		re, im := real(w.half[k]), imag(w.half[k])
		w.full[k] = complex(re*w.plus[k], im*w.plus[k])
		w.full[w.size-k] = complex(re*w.minus[k], -im*w.minus[k])
	}
	w.inverse.Sequence(w.full, w.full)
}
