package compare

import "stanchion/analyze/signal"

// each calls work(i) for i in [0, n) on all cores and waits for all of it.
func each(n int, work func(i int)) {
	signal.OnAllCores(n, func() func(int) { return work })
}
