package ingest

// TravelOf returns the function that turns one reading in unit into travel in mm on the fork of setup, as Prepare does for
// a whole log. The setup's unit goes before the given one.
func TravelOf(unit Unit, setup Setup) (func(reading float64) float64, error) {
	if setup.Sensor.Unit != UnitUnknown {
		unit = setup.Sensor.Unit
	}
	cal, err := newCalibration(unit, setup)
	if err != nil {
		return nil, err
	}
	return func(reading float64) float64 {
		one := [1]float64{reading}
		cal.apply(one[:])
		return one[0]
	}, nil
}
