//go:build !linux

package main

import (
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

// canMount needs Linux.
func canMount(t *testing.T) bool { return false }

func mountSmall(ts *testscript.TestScript, neg bool, args []string) { ts.Fatalf("not on this system") }
