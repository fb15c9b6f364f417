package notify_test

import (
	"testing"
	"time"
	_ "time/tzdata" // the machine may have no zone data

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"leafturn/model"
	"leafturn/server/notify"
)

func zone(t require.TestingT, name string) *time.Location {
	z, err := time.LoadLocation(name)
	require.NoError(t, err)
	return z
}

func day(t require.TestingT, s string) model.Date {
	d, err := model.ParseDate(s)
	require.NoError(t, err)
	return d
}

// Changes of clocks are facts of the time zone database of IANA.
func TestMoments(t *testing.T) {
	const at = 60
	for name, c := range map[string]struct {
		zone, day string
		minute    int
		want      string // as the wall clock shows it
	}{
		"plain day":                 {"Europe/Berlin", "2026-03-14", 8 * at, "2026-03-14 08:00 +0100"},
		"morning after spring":      {"Europe/Berlin", "2026-03-29", 8 * at, "2026-03-29 08:00 +0200"},
		"inside the gap":            {"Europe/Berlin", "2026-03-29", 2*at + 30, "2026-03-29 03:00 +0200"},
		"first minute of the gap":   {"Europe/Berlin", "2026-03-29", 2 * at, "2026-03-29 03:00 +0200"},
		"inside the fold":           {"Europe/Berlin", "2026-10-25", 2*at + 30, "2026-10-25 02:30 +0200"},
		"after the fold":            {"Europe/Berlin", "2026-10-25", 3 * at, "2026-10-25 03:00 +0100"},
		"gap elsewhere":             {"America/New_York", "2026-03-08", 2*at + 15, "2026-03-08 03:00 -0400"},
		"fold elsewhere":            {"America/New_York", "2026-11-01", 1*at + 15, "2026-11-01 01:15 -0400"},
		"half an hour is skipped":   {"Australia/Lord_Howe", "2026-10-04", 2*at + 10, "2026-10-04 02:30 +1100"},
		"half an hour comes twice":  {"Australia/Lord_Howe", "2026-04-05", 1*at + 45, "2026-04-05 01:45 +1100"},
		"midnight is skipped":       {"America/Sao_Paulo", "2018-11-04", 10, "2018-11-04 01:00 -0200"},
		"midnight comes twice":      {"America/Havana", "2025-11-02", 30, "2025-11-02 00:30 -0400"},
		"last hour comes twice":     {"America/Sao_Paulo", "2018-02-17", 23*at + 30, "2018-02-17 23:30 -0200"},
		"the day ends before":       {"America/Nuuk", "2026-03-28", 23*at + 30, "2026-03-28 22:59 -0200"},
		"leap day":                  {"Asia/Kolkata", "2028-02-29", 7 * at, "2028-02-29 07:00 +0530"},
		"day after a skipped day":   {"Pacific/Apia", "2011-12-31", 8 * at, "2011-12-31 08:00 +1400"},
		"no change of clocks":       {"UTC", "2026-03-29", 2*at + 30, "2026-03-29 02:30 +0000"},
		"no hour after the last":    {"UTC", "2026-03-29", 24*at - 1, "2026-03-29 23:59 +0000"},
		"far from UTC":              {"Pacific/Kiritimati", "2026-01-01", 0, "2026-01-01 00:00 +1400"},
		"two changes in one spring": {"Africa/Casablanca", "2026-03-22", 2*at + 30, "2026-03-22 03:00 +0100"},
	} {
		t.Run(name, func(t *testing.T) {
			got := notify.Moment(day(t, c.day), c.minute, zone(t, c.zone))
			require.Equal(t, c.want, got.In(zone(t, c.zone)).Format("2006-01-02 15:04 -0700"))
		})
	}
}

var zoneNames = []string{
	"Europe/Berlin", "America/New_York", "America/Sao_Paulo", "America/Havana", "Australia/Lord_Howe", "Asia/Kolkata",
	"Pacific/Apia", "Pacific/Kiritimati", "Africa/Casablanca", "America/Nuuk", "Asia/Tehran", "Europe/Dublin", "UTC",
}

// A moment is on its day, shows the minute or a later one, and no earlier moment of
// the day does.
func TestAMomentIsTheFirst(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		z := zone(t, rapid.SampledFrom(zoneNames).Draw(t, "zone"))
		d := model.DateOf(2010, 1, 1).Add(rapid.IntRange(0, 365*20).Draw(t, "day"))
		minute := rapid.IntRange(0, 24*60-1).Draw(t, "minute")
		if d.Start(z) == d.Add(1).Start(z) {
			t.Skip("there is no such day")
		}
		want := d.Add(1).Start(z) - 60_000
		for at := d.Start(z); at < want; at += 60_000 {
			if l := at.In(z); l.Hour()*60+l.Minute() >= minute {
				want = at
			}
		}
		require.Equal(t, want, notify.Moment(d, minute, z))
	})
}

// Whoever looks only when told to says the same, at the same moments, as whoever
// looks every minute; on every day that exists, each note comes at most once, and
// the digest comes exactly once if something is due.
func TestToLookWhenPlannedIsEnough(t *testing.T) {
	minute := rapid.IntRange(0, 24*60-1)
	rapid.Check(t, func(t *rapid.T) {
		z := zone(t, rapid.SampledFrom(zoneNames).Draw(t, "zone"))
		m := model.Member{
			DigestAt: minute.Draw(t, "digest"), Evening: rapid.Bool().Draw(t, "evening"),
			QuietFrom: minute.Draw(t, "quiet from"), QuietTo: minute.Draw(t, "quiet to"),
		}
		if rapid.Bool().Draw(t, "never quiet") {
			m.QuietTo = m.QuietFrom
		}
		first := changeDay(t, z)
		start, end := first.Start(z), first.Add(4).Start(z)
		type saying struct {
			at   model.Instant
			kind notify.Kind
		}
		var always, planned []saying
		p := notify.NewPlanned(m, 1)
		for at := start; at < end; at += 60_000 {
			if kind := p.Poll(at, z); kind != "" {
				always = append(always, saying{at, kind})
			}
		}
		p = notify.NewPlanned(m, 1)
		for at := start; at != 0 && at < end; {
			kind, next := p.Poll(at, z), p.Next(at, z)
			if kind != "" {
				planned = append(planned, saying{at, kind})
			}
			require.True(t, next == 0 || next > at)
			at = next
		}
		require.Equal(t, always, planned)
		type once struct {
			day  model.Date
			kind notify.Kind
		}
		seen := map[once]bool{}
		for _, s := range planned {
			k := once{s.at.Date(z), s.kind}
			require.False(t, seen[k], "%v twice", k)
			seen[k] = true
		}
		for d := first; d < first.Add(4); d++ {
			exists := d.Start(z) != d.Add(1).Start(z)
			if m.DigestAt != 0 && m.QuietFrom == m.QuietTo && (!m.Evening || m.DigestAt < model.EveningAt) && exists {
				require.True(t, seen[once{d, notify.Digest}], "%s has no digest", d)
			}
		}
	})
}

// changeDay is a day shortly before the clocks change, if they ever do.
func changeDay(t *rapid.T, z *time.Location) model.Date {
	d := model.DateOf(2010, 1, 1).Add(rapid.IntRange(0, 365*20).Draw(t, "day"))
	_, change := d.Start(z).In(z).ZoneBounds()
	if change.IsZero() {
		return d
	}
	return model.InstantOf(change).Date(z).Add(-rapid.IntRange(0, 3).Draw(t, "before"))
}

func TestHours(t *testing.T) {
	const at = 60
	for name, c := range map[string]struct {
		member model.Member
		want   string // what a day of tasks never done says, and when
	}{
		"nothing wanted":              {model.Member{}, ""},
		"digest":                      {model.Member{DigestAt: 8 * at}, "08:00 digest"},
		"evening only":                {model.Member{Evening: true}, "20:00 evening"},
		"both":                        {model.Member{DigestAt: 8 * at, Evening: true}, "08:00 digest, 20:00 evening"},
		"digest after the evening":    {model.Member{DigestAt: 21 * at, Evening: true}, "20:00 evening"},
		"digest before quiet ends":    {model.Member{DigestAt: 6 * at, QuietFrom: 22 * at, QuietTo: 7 * at}, "07:00 digest"},
		"digest after quiet begins":   {model.Member{DigestAt: 23 * at, QuietFrom: 22 * at, QuietTo: 7 * at}, "07:00 digest"},
		"digest as quiet ends":        {model.Member{DigestAt: 7 * at, QuietFrom: 22 * at, QuietTo: 7 * at}, "07:00 digest"},
		"digest as quiet begins":      {model.Member{DigestAt: 22 * at, QuietFrom: 22 * at, QuietTo: 7 * at}, "07:00 digest"},
		"quiet until midnight":        {model.Member{DigestAt: 23 * at, QuietFrom: 22 * at, QuietTo: 0}, "00:00 digest"},
		"quiet at noon":               {model.Member{DigestAt: 13 * at, QuietFrom: 12 * at, QuietTo: 14*at + 30}, "14:30 digest"},
		"evening in quiet hours":      {model.Member{DigestAt: 8 * at, Evening: true, QuietFrom: 19 * at, QuietTo: 7 * at}, "08:00 digest"},
		"quiet from and to the same":  {model.Member{DigestAt: 8 * at, QuietFrom: 8 * at, QuietTo: 8 * at}, "08:00 digest"},
		"the first minute of the day": {model.Member{DigestAt: 1}, "00:01 digest"},
	} {
		t.Run(name, func(t *testing.T) {
			z := zone(t, "Europe/Berlin")
			d := day(t, "2026-03-14")
			p := notify.NewPlanned(c.member, 3)
			said := ""
			for at := d.Start(z); at < d.Add(1).Start(z); at += 60_000 {
				if kind := p.Poll(at, z); kind != "" {
					if said != "" {
						said += ", "
					}
					said += at.In(z).Format("15:04 ") + string(kind)
				}
			}
			require.Equal(t, c.want, said)
		})
	}
}
