package setup_test

import (
	"fmt"

	"stanchion/ingest/setup"
)

func ExampleParse() {
	file, err := setup.Parse("fork.toml", []byte(`
[fork]
name = "160 mm demo fork"
travel_mm = 160.0

[sensor]
unit = "counts"
points = [ { reading = 310, travel_mm = 0.0 }, { reading = 3720, travel_mm = 160.0 } ]

[log]
time_column = "t_us"
`))
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(file.Setup.Fork.Name, len(file.Setup.Sensor.Points), file.Log.TimeColumn, file.Log.SensorUnit)

	_, err = setup.Parse("fork.toml", []byte("[fork]\ntravel_mm = 1600\nhead_angel_deg = 65\n"))
	fmt.Println(err)
	// Output:
	// 160 mm demo fork 2 t_us counts
	// fork.toml:2: fork.travel_mm is 1600, but must be a number from 20 to 400
	// fork.toml:3: fork.head_angel_deg is not a known key; did you mean head_angle_deg?
}
