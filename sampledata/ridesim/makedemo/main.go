// Command makedemo writes the demo recordings of package sampledata into the folder given, or into the current one.
package main

import (
	"fmt"
	"os"
	"path/filepath"

	"stanchion/sampledata/ridesim/demo"
)

func main() {
	dir := "."
	if len(os.Args) > 1 {
		dir = os.Args[1]
	}
	if err := run(dir); err != nil {
		fmt.Fprintln(os.Stderr, "makedemo:", err)
		os.Exit(1)
	}
}

func run(dir string) error {
	for _, b := range demo.Builders() {
		files, err := b.Build()
		if err != nil {
			return err
		}
		for _, f := range files {
			if err := os.WriteFile(filepath.Join(dir, f.Name), f.Data, 0o644); err != nil {
				return err
			}
			fmt.Printf("%s: %d bytes\n", f.Name, len(f.Data))
		}
	}
	return nil
}
