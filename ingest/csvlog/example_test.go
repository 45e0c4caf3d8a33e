package csvlog_test

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"stanchion/ingest/csvlog"
)

func ExampleReadFrom() {
	log := `Trail logger, firmware 1.2
time (s);fork (mm);speed (km/h);lap
0,000;12,5;18,2;0
0,001;13,1;18,2;1
0,002;abc;18,2;1
0,003;14,0;18,3;0
`
	rec, err := csvlog.ReadFrom(context.Background(), strings.NewReader(log), "run1.csv", csvlog.Options{MaxBadShare: 0.3})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(rec.Stamps, rec.Travel, rec.Unit, rec.Markers)
	for _, line := range rec.Understood {
		fmt.Println(line)
	}
	for _, bad := range rec.Rows.First {
		fmt.Printf("%s:%d: %s\n", rec.Source, bad.Line, bad.Reason)
	}
	// Output:
	// [0 0.001 0.003] [12.5 13.1 14] mm [{1 lap}]
	// delimiter: ;, decimal comma
	// header: line 2
	// time: column 1 "time (s)", s
	// travel: column 2 "fork (mm)", mm
	// kept: speed [km/h]
	// markers: column 4 "lap", 1 found
	// rows: 4, of those 1 left out as bad
	// run1.csv:5: travel "abc" is not a number
}

func ExampleError() {
	_, err := csvlog.ReadFrom(context.Background(), strings.NewReader("t_us,fork\n0,12.5\n1000,80.5\n"), "run1.csv", csvlog.Options{})
	fmt.Println(err)
	var e *csvlog.Error
	if errors.As(err, &e) {
		fmt.Println("hint:", e.Hint)
	}
	// Output:
	// run1.csv: travel column 2 "fork" has no unit, and numbers from 12.5 to 80.5 could be several
	// hint: set --travel-unit to counts, volts, percent or mm
}
