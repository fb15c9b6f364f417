package agenda_test

import (
	"encoding/csv"
	"os"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/model/agenda"
	"leafturn/model/standing"
)

// TestPublished holds the defaults against the figures and sources in
// testdata/treatments.
func TestPublished(t *testing.T) {
	file, err := os.Open("../../testdata/treatments/course.csv")
	require.NoError(t, err)
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	require.NoError(t, err)
	c := agenda.DefaultCourse()
	ours := map[string]int{
		"interval_min": c.IntervalMin, "interval_max": c.IntervalMax, "interval": c.Interval,
		"check_min": c.CheckMin, "check_max": c.CheckMax, "check_after": c.CheckAfter,
		"course_min": c.MinDays, "apart_min": standing.QuarantineDays,
	}
	require.Len(t, rows[1:], len(ours))
	for _, r := range rows[1:] {
		t.Run(r[3]+"/"+r[0], func(t *testing.T) {
			require.Contains(t, ours, r[0])
			printed, err := strconv.Atoi(r[1])
			require.NoError(t, err)
			require.Equal(t, printed, ours[r[0]])
			require.Equal(t, "days", r[2])
		})
	}
	require.Equal(t, model.CommonPractice, c.Basis)
}

func TestApplicationsCoverTheWholeCourse(t *testing.T) {
	c := agenda.DefaultCourse()
	for interval := 1; interval <= 40; interval++ {
		n := c.Applications(interval)
		require.GreaterOrEqual(t, (n-1)*interval, c.MinDays)
		require.Less(t, (n-2)*interval, c.MinDays)
	}
	require.Equal(t, 5, c.Applications(7))
	require.Equal(t, 4, c.Applications(10))
}
