package main

import (
	"fmt"
	"os/exec"
	"path/filepath"
	"runtime"
)

// openInBrowser shows a file in the person's usual browser and does not wait for it.
func openInBrowser(path string) error {
	abs, err := filepath.Abs(path)
	if err != nil {
		return fmt.Errorf("open %s: %w", path, err)
	}
	name, args := "xdg-open", []string{abs}
	switch runtime.GOOS {
	case "darwin":
		name = "open"
	case "windows":
		name, args = "rundll32", []string{"url.dll,FileProtocolHandler", abs}
	}
	cmd := exec.Command(name, args...)
	if err := cmd.Start(); err != nil {
		return fmt.Errorf("open %s: %w", path, err)
	}
	go func() { _ = cmd.Wait() }()
	return nil
}
