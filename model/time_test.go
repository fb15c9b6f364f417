package model_test

import (
	"testing"
	"time"
	_ "time/tzdata" // the same zones on every machine

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"leafturn/model"
)

// Zones that change their clocks in each of the ways there are: at night, at
// midnight, a minute after midnight, by half an hour, by a quarter, by a day.
var zones = []string{
	"UTC", "Europe/Berlin", "America/New_York", "Pacific/Auckland", "Asia/Kathmandu", "America/Sao_Paulo", "Asia/Tehran",
	"America/Havana", "America/St_Johns", "Australia/Lord_Howe", "Pacific/Apia", "Asia/Beirut", "Africa/Cairo",
}

func TestDateText(t *testing.T) {
	d, err := model.ParseDate("2024-02-29")
	require.NoError(t, err)
	require.Equal(t, "2024-02-29", d.String())
	require.Equal(t, time.Thursday, d.Weekday())
	require.Equal(t, "2024-03-01", d.Add(1).String())
	require.Equal(t, "2025-02-28", d.Add(365).String())
	require.Equal(t, model.Date(0), model.DateOf(1970, time.January, 1))
	require.Equal(t, "2023-03-01", model.DateOf(2023, time.February, 29).String())
	require.Equal(t, "2024-01-31", model.DateOf(2023, time.December+1, 31).String())
	_, err = model.ParseDate("2023-02-29")
	require.Error(t, err)
}

func TestDateAddAndSub(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d, n := model.Date(rapid.Int32Range(-100_000, 100_000).Draw(t, "day")), rapid.IntRange(-5000, 5000).Draw(t, "n")
		require.Equal(t, n, d.Add(n).Sub(d))
		require.Equal(t, d.UTC().AddDate(0, 0, n), d.Add(n).UTC())
		back, err := model.ParseDate(d.String())
		require.NoError(t, err)
		require.Equal(t, d, back)
	})
}

// Start is checked against its meaning alone: it lies in the day, or after it if
// the clocks skipped the day, and nothing just before it does.
func TestStartIsTheFirstMomentOfTheDay(t *testing.T) {
	for _, name := range zones {
		zone, err := time.LoadLocation(name)
		require.NoError(t, err)
		t.Run(name, func(t *testing.T) {
			for d := model.DateOf(1985, time.December, 1); d < model.DateOf(2026, time.January, 1); d++ {
				start := d.Start(zone)
				if start.Date(zone) < d || (start-1).Date(zone) >= d {
					t.Fatalf("%s begins at %s", d, start.In(zone))
				}
			}
		})
	}
}

func TestStartOnOddDays(t *testing.T) {
	for name, c := range map[string]struct{ zone, day, want string }{
		"midnight skipped":                   {"America/Sao_Paulo", "2018-11-04", "2018-11-04T01:00:00-02:00"},
		"midnight skipped, half-hour zone":   {"Asia/Tehran", "2022-03-22", "2022-03-22T01:00:00+04:30"},
		"a quarter of an hour skipped":       {"Asia/Kathmandu", "1986-01-01", "1986-01-01T00:15:00+05:45"},
		"midnight twice":                     {"America/Havana", "2023-11-05", "2023-11-05T00:00:00-04:00"},
		"back into yesterday after a minute": {"America/St_Johns", "2010-11-07", "2010-11-07T00:00:00-02:30"},
		"no such day":                        {"Pacific/Apia", "2011-12-30", "2011-12-31T00:00:00+14:00"},
		"an ordinary day":                    {"Europe/Berlin", "2025-06-01", "2025-06-01T00:00:00+02:00"},
		"the day the clocks go forward":      {"Europe/Berlin", "2025-03-30", "2025-03-30T00:00:00+01:00"},
		"the day the clocks go back":         {"America/New_York", "2025-11-02", "2025-11-02T00:00:00-04:00"},
	} {
		t.Run(name, func(t *testing.T) {
			zone, err := time.LoadLocation(c.zone)
			require.NoError(t, err)
			d, err := model.ParseDate(c.day)
			require.NoError(t, err)
			require.Equal(t, c.want, d.Start(zone).In(zone).Format(time.RFC3339))
		})
	}
}

func TestInstantOf(t *testing.T) {
	at := time.Date(2025, time.June, 1, 23, 30, 0, 0, time.FixedZone("", 2*3600))
	i := model.InstantOf(at)
	require.Equal(t, "2025-06-01", i.Date(at.Location()).String())
	require.Equal(t, "2025-06-01", i.Date(time.UTC).String())
	require.Equal(t, "2025-06-02", i.Date(time.FixedZone("", 3*3600)).String())
	require.True(t, i.In(time.UTC).Equal(at))
}
