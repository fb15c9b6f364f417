package identify

import "leafturn/model"

// fromLog is what each sign of the household's log says here. Two of the log's signs
// do not note the kind, and their signs here do not either.
var fromLog = [...]struct {
	logged model.Signs
	sign   Sign
}{
	{model.PaleSpeckling, Stippling},
	{model.SilveryPatches, SilverStreaks},
	{model.BlackSpecks, BlackDots},
	{model.FineWebbing, Webbing},
	{model.StickyHoneydew, Honeydew},
	{model.WhiteFluff, WhiteFluff},
	{model.ShellsOrBumps, BrownBumps},
	{model.FliesWhenTouched, Flyers},
	{model.TwistedNewGrowth, TwistedGrowth},
	{model.Yellowing, Yellowing},
	{model.MovingInsects, Crawlers},
	{model.LarvaeInSoil, SoilLarvae},
}

// FromInspection is what a logged look shows. A sign that is logged neither as seen
// nor as looked for and not seen counts as not looked at.
func FromInspection(i *model.Inspection) Observation {
	var o Observation
	var at [len(partColumns) + 1]bool
	for _, f := range i.Findings {
		for _, x := range fromLog {
			if f.Signs.Has(x.logged) {
				o.Seen |= 1 << signAt(x.sign, f.Part)
			}
		}
		if f.Part != model.Soil { // thrips and gnats both rest in the soil: that tells nothing
			o.Seen |= counted(f.Counts)
		}
		if f.Part >= model.Underside && f.Part <= model.LeafStalk {
			at[f.Part] = true
		}
	}
	for _, x := range fromLog {
		if i.Absent.Has(x.logged) {
			o.Absent |= 1 << x.sign
		}
	}
	o.Absent &^= o.Seen
	for _, p := range model.Parts {
		if at[p] {
			o.Where = append(o.Where, p)
		}
	}
	return o
}

// signAt is the sign at a part: white fluff in the soil is on roots.
func signAt(s Sign, p model.Part) Sign {
	if s == WhiteFluff && p == model.Soil {
		return RootFluff
	}
	return s
}

func counted(c model.Counts) Set {
	var s Set
	if c[model.Eggs] > 0 {
		s |= 1 << EggsSeen
	}
	if c[model.Resting] > 0 {
		s |= 1 << RestingSeen
	}
	if c[model.Young] > 0 || c[model.Adults] > 0 {
		s |= 1 << Crawlers
	}
	return s
}
