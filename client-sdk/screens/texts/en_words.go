package texts

import (
	"strconv"
	"strings"
	"time"

	"leafturn/model"
)

func itoa(n int) string { return strconv.Itoa(n) }

// count puts a number before the right form of a noun.
func count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return itoa(n) + " " + many
}

// thousandths writes a number given in thousandths, without needless zeros.
func thousandths(n int) string { return strconv.FormatFloat(float64(n)/1000, 'f', -1, 64) }

// tenth writes a number with at most one decimal.
func tenth(f float64) string {
	return strings.TrimSuffix(strconv.FormatFloat(f, 'f', 1, 64), ".0")
}

func enFormat(words Words) Format {
	return Format{
		Day:     enDay,
		DayLong: func(d model.Date) string { return d.UTC().Format("Monday 2 January") },
		DayNear: func(day, today model.Date) string {
			switch day.Sub(today) {
			case -1:
				return "yesterday"
			case 0:
				return "today"
			case 1:
				return "tomorrow"
			}
			return enDayFar(day, today)
		},
		DayFar:   enDayFar,
		Clock:    func(hour, minute int) string { return time.Date(0, 1, 1, hour, minute, 0, 0, time.UTC).Format("15:04") },
		Ml:       enMl,
		Rate:     enRate,
		Stock:    enStock,
		Bytes:    enBytes,
		List:     enList,
		Plants:   func(n int) string { return count(n, "plant", "plants") },
		Days:     func(n int) string { return count(n, "day", "days") },
		Hours:    func(n int) string { return count(n, "hour", "hours") },
		Times:    func(n int) string { return count(n, "spray", "sprays") },
		Progress: func(n, of int) string { return itoa(n) + " of " + itoa(of) },
		Counts:   enCounts,
		Signs:    func(s model.Signs) string { return enSigns(words.Sign, s) },
		Finding:  enFinding,
	}
}

func enDay(d model.Date) string { return d.UTC().Format("Mon 2 Jan") }

// enDayFar names the year of days that are most of a year away or more.
func enDayFar(day, today model.Date) string {
	if n := day.Sub(today); n < -300 || n > 300 {
		return day.UTC().Format("Mon 2 Jan 2006")
	}
	return enDay(day)
}

func enMl(ml int) string {
	if ml < 1000 {
		return itoa(ml) + " ml"
	}
	return thousandths(ml) + " l"
}

func enRate(unit model.RateUnit, milli int) string {
	switch unit {
	case model.RateMlPerLitre:
		return thousandths(milli) + " ml per litre"
	case model.RateGramPerLitre:
		return thousandths(milli) + " g per litre"
	}
	return "Ready to use"
}

func enStock(unit model.RateUnit, milli int) string {
	if unit == model.RateGramPerLitre {
		return thousandths(milli) + " g"
	}
	return thousandths(milli) + " ml"
}

func enBytes(n int64) string {
	switch {
	case n < 1000:
		return itoa(int(n)) + " bytes"
	case n < 1_000_000:
		return tenth(float64(n)/1000) + " kB"
	}
	return tenth(float64(n)/1_000_000) + " MB"
}

func enList(names []string) string {
	switch len(names) {
	case 0:
		return ""
	case 1:
		return names[0]
	}
	last := len(names) - 1
	return strings.Join(names[:last], ", ") + " and " + names[last]
}

func enCounts(c model.Counts) string {
	var parts []string
	for i, nouns := range [4][2]string{{"egg", "eggs"}, {"young", "young"}, {"resting", "resting"}, {"adult", "adults"}} {
		if c[i] > 0 {
			parts = append(parts, count(int(c[i]), nouns[0], nouns[1]))
		}
	}
	return enList(parts)
}

func enSigns(words map[model.Signs]string, s model.Signs) string {
	var parts []string
	for _, sign := range Signs {
		if s.Has(sign) {
			parts = append(parts, strings.ToLower(words[sign]))
		}
	}
	return enList(parts)
}

func enFinding(part, signs, counts string) string {
	switch {
	case signs == "" && counts == "":
		return part
	case signs == "":
		return part + ": " + counts
	case counts == "":
		return part + ": " + signs
	}
	return part + ": " + signs + "; " + counts
}

func enWords() Words {
	return Words{
		Part: map[model.Part]string{
			model.Underside: "Underside", model.TopSide: "Top side", model.Stem: "Stem", model.NewGrowth: "New growth",
			model.Soil: "Soil", model.Flower: "Flower", model.LeafJoint: "Leaf joint", model.LeafStalk: "Leaf stalk",
		},
		Sign: map[model.Signs]string{
			model.PaleSpeckling: "Pale speckling", model.SilveryPatches: "Silvery patches", model.BlackSpecks: "Black specks", model.FineWebbing: "Fine webbing",
			model.StickyHoneydew: "Sticky honeydew", model.WhiteFluff: "White fluff", model.ShellsOrBumps: "Shells or bumps", model.FliesWhenTouched: "Flies up when touched",
			model.TwistedNewGrowth: "Twisted new growth", model.Yellowing: "Yellowing", model.MovingInsects: "Moving insects", model.LarvaeInSoil: "Larvae in the soil",
		},
		Aid:       map[model.Aid]string{model.NakedEye: "By eye", model.Lens: "With a lens", model.PaperTap: "Tapped over white paper"},
		Stage:     map[model.Stage]string{model.Eggs: "Eggs", model.Young: "Young", model.Resting: "Resting", model.Adults: "Adults"},
		StageHint: map[model.Stage]string{model.Eggs: "Also empty shells", model.Young: "Larvae, crawlers", model.Resting: "Still, in a case", model.Adults: "Full-grown, winged"},
		Damage:    map[int]string{0: "None", 1: "Few specks", 2: "Some leaves", 3: "Half", 4: "Most", 5: "Nearly all"},
		Role:      map[model.Role]string{model.Keeper: "Keeper", model.Helper: "Helper", model.Guest: "Guest"},
		RoleHint: map[model.Role]string{
			model.Keeper: "May do everything and invites others.",
			model.Helper: "Looks, treats, and changes plants and places.",
			model.Guest:  "Looks and ticks off, such as a plant sitter.",
		},
		Means: map[model.Means]string{
			model.MeansSoap: "Soap spray", model.MeansOil: "Oil spray", model.MeansContactSpray: "Other contact spray",
			model.MeansSystemicSoil: "Through the roots", model.MeansSoilDrench: "In the soil only", model.MeansWater: "Water",
		},
		RateUnit: map[model.RateUnit]string{model.RateMlPerLitre: "ml per litre", model.RateGramPerLitre: "g per litre", model.RateReady: "Ready to use"},
		Site:     map[model.Site]string{model.SiteUnsaid: "Not looked up", model.SiteNamed: "Yes", model.SiteRuledOut: "No, not indoors"},
		Pest: map[model.Pest]string{
			model.PestThrips: "Thrips", model.PestSpiderMite: "Spider mites", model.PestAphid: "Aphids", model.PestMealybug: "Mealybugs",
			model.PestRootMealy: "Root mealybugs", model.PestWhitefly: "Whitefly", model.PestScale: "Scale insects", model.PestFungusGnat: "Fungus gnats",
			model.PestBroadMite: "Broad mites", model.PestUnknown: "Not sure yet",
		},
		Handling: map[model.HandlingKind]string{
			model.Isolated: "Set apart", model.Released: "Back among the others", model.Moved: "Moved", model.Rinsed: "Rinsed", model.Pruned: "Pruned",
			model.Repotted: "Repotted", model.CameIn: "Came in", model.WentOut: "Went out", model.ThrownOut: "Gone", model.Wiped: "Wiped",
			model.Watered: "Watered", model.BackIn: "Back from outdoors", model.CutCameIn: "Cut flowers or produce came in", model.Tried: "One leaf tried",
		},
		PutOffReason: map[model.PutOffReason]string{
			model.NoTime: "No time", model.TooHot: "Too hot or sunny", model.PlantDry: "The plant is dry", model.PlantWet: "The leaves are wet",
			model.OutOfStock: "Product has run out", model.OtherWhy: "Another reason",
		},
		Standing: map[Standing]string{Clear: "Clear", Watch: "Watch", Quarantined: "Quarantined", InTreatment: "In treatment", Lost: "Lost"},
		DueState: map[DueState]string{Overdue: "Overdue", Due: "Today", Soon: "Soon", Later: "Later", Done: "Done"},
		Rhythm:   map[int]string{7: "Weekly", 14: "Every two weeks"},
	}
}
