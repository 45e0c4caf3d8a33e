package ingest

// Hinted is an error with advice on how to mend it. Commands print the hint on a line of its own.
type Hinted struct {
	Err  error
	Hint string
}

// Error returns the text of the error, without the hint.
func (h Hinted) Error() string { return h.Err.Error() }

// Unwrap returns the error that the hint belongs to.
func (h Hinted) Unwrap() error { return h.Err }
