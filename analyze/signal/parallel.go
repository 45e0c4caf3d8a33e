package signal

import (
	"runtime"
	"sync"
	"sync/atomic"
)

// OnAllCores does the jobs 0..n-1 on all cores. worker is called once on each of them and returns what does a job there, with
// buffers of its own. Which core does which job is not determined, so that no result may depend on it.
func OnAllCores(n int, worker func() func(job int)) {
	var next atomic.Int64
	var wait sync.WaitGroup
	for range min(n, runtime.GOMAXPROCS(0)) {
		wait.Go(func() {
			do := worker()
			for job := int(next.Add(1)) - 1; job < n; job = int(next.Add(1)) - 1 {
				do(job)
			}
		})
	}
	wait.Wait()
}
