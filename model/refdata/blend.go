package refdata

import "strings"

// blend is a profile for an animal that may be either of two: every band holds
// both, every central value is their mean. The fits of both are kept.
func blend(s Species, a, b *Profile) Profile {
	c := a.clone()
	c.Species = s
	c.Note = "Either " + a.Species.String() + " or " + b.Species.String() + ". " + a.Note
	for i := range c.Stages {
		c.Stages[i].join(&b.Stages[i])
	}
	c.Adult.join(&b.Adult.Stage)
	c.Adult.PreLaying = either(a.Adult.PreLaying, b.Adult.PreLaying)
	c.Adult.Laying = either(a.Adult.Laying, b.Adult.Laying)
	c.Adult.Young = either(a.Adult.Young, b.Adult.Young)
	c.Adult.Female = either(a.Adult.Female, b.Adult.Female)
	c.Adult.Spread = either(a.Adult.Spread, b.Adult.Spread)
	c.Upper, c.Lethal, c.Spread = either(a.Upper, b.Upper), either(a.Lethal, b.Lethal), either(a.Spread, b.Spread)
	mean := Fit{
		Span: a.Fits[0].Span, Lower: (a.Fits[0].Lower + b.Fits[0].Lower) / 2, Constant: (a.Fits[0].Constant + b.Fits[0].Constant) / 2,
		Source: joinSources("derived "+a.Fits[0].Source, b.Fits[0].Source),
	}
	c.Fits = append(append([]Fit{mean}, a.Fits...), b.Fits...)
	return c
}

func (s *Stage) join(other *Stage) {
	s.Lower = either(s.Lower, other.Lower)
	s.Constant = either(s.Constant, other.Constant)
	s.Survival = either(s.Survival, other.Survival)
	s.Where |= other.Where
	for w := range s.Seen {
		s.Seen[w] = either(s.Seen[w], other.Seen[w])
	}
	for m := range s.Reach {
		if other.Reach[m].Level < s.Reach[m].Level {
			s.Reach[m] = other.Reach[m]
		}
	}
}

func either(a, b Value) Value {
	source := joinSources(a.Source, b.Source)
	if source != a.Source || a.Central != b.Central {
		source = joinSources("derived", source)
	}
	return Value{min(a.Low, b.Low), (a.Central + b.Central) / 2, max(a.High, b.High), a.Unit, source}
}

// joinSources lists the words of both, each once.
func joinSources(a, b string) string {
	for word := range strings.FieldsSeq(b) {
		if !hasWord(a, word) {
			a += " " + word
		}
	}
	return strings.TrimSpace(a)
}
