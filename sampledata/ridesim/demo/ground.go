package demo

import (
	"bytes"
	"fmt"
	"time"

	"stanchion/sampledata/ridesim"
)

// groundSeed fixes where the trail lies: two berms one way, one the other.
const groundSeed = 21

// lineM is how far from the middle of the trail the rider is, RMS.
const lineM = 0.25

// Ground is the trail of both runs, on an invented hill.
func Ground() (*ridesim.Trail, error) {
	return trail(1).Trail(ridesim.Shape{Seed: groundSeed, HeadingDeg: 150})
}

// Gates are where time is taken: the start is ridden through at speed, and so is the finish, before the rider brakes.
func Gates() []ridesim.Gate {
	return []ridesim.Gate{{Name: "start", StationM: 30}, {Name: "split 1", StationM: 386}, {Name: "split 2", StationM: 786}, {Name: "finish", StationM: 1020}}
}

// ReceiverA is switched on before the log begins and off after it has ended.
func ReceiverA() ridesim.Receiver {
	r := ridesim.OpenGround(5)
	r.Seed, r.ClockOffsetS, r.TailS = 505, -7.4, 4
	r.Start = time.Date(2024, 5, 18, 9, 41, 12, 400e6, time.UTC)
	return r
}

// ReceiverB is switched on earlier still, and loses reception once.
func ReceiverB() ridesim.Receiver {
	r := ridesim.OpenGround(5)
	r.Seed, r.ClockOffsetS, r.TailS = 606, -12.86, 6
	r.Dropouts, r.DropoutS = 1, 2.4
	r.Start = time.Date(2024, 5, 18, 10, 7, 33, 0, time.UTC)
	return r
}

func gatesTOML() []byte {
	var b bytes.Buffer
	b.WriteString("# Where time is taken on the trail of the demo runs: distance along the trail from where its riders start.\n")
	for _, g := range Gates() {
		fmt.Fprintf(&b, "\n[[gate]]\nname = %q\nstation_m = %.1f\n", g.Name, g.StationM)
	}
	return b.Bytes()
}
