package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"stanchion/ingest"
	"stanchion/ingest/capture"
)

func newPorts(c *console) *cobra.Command {
	return &cobra.Command{
		Use:   "ports",
		Short: "List the serial ports that a sensor may be plugged into",
		Long: `Ports lists the serial ports of this computer, those that something is plugged
into first, with what the system knows of them.`,
		Example: `  stanchion ports`,
		Args:    cobra.NoArgs,
		RunE: func(cmd *cobra.Command, args []string) error {
			ports, err := capture.Ports()
			if err != nil {
				return err
			}
			if len(ports) == 0 {
				return ingest.Hinted{Err: fmt.Errorf("there are no serial ports"),
					Hint: "plug the sensor in; some boards need a driver, and some cables carry power only"}
			}
			for _, p := range ports {
				line := p.Name
				if p.Description != "" {
					line = fmt.Sprintf("%-16s %s", p.Name, p.Description)
				}
				fmt.Fprintln(c.out, line)
			}
			return nil
		},
	}
}

// choosePort returns the port that was asked for, or the only one that something is plugged into.
func choosePort(asked string) (string, error) {
	if asked != "" {
		return asked, nil
	}
	ports, err := capture.Ports()
	if err != nil {
		return "", err
	}
	plugged := capture.Plugged(ports)
	if len(plugged) == 1 {
		return plugged[0].Name, nil
	}
	return "", usagef("'stanchion ports' lists the ports; then give one with --port", "no --port given, and %d ports have something plugged in", len(plugged))
}
