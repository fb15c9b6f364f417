package agenda

import "leafturn/model"

// DefaultRoundEvery is the rhythm of a place for which the household has chosen
// none: weekly, which is common practice without a source.
const DefaultRoundEvery = 7

// Course is what a course of contact sprays starts from when a member plans one.
// It holds days only: how much goes into the water is the label's to say.
type Course struct {
	IntervalMin, IntervalMax, Interval int // days between sprays
	CheckMin, CheckMax, CheckAfter     int // days from a spray to the look
	MinDays                            int // from the first spray to the last, at least
	Basis                              model.Basis
}

// DefaultCourse is a course in the common-practice band. The figures and their
// sources stand in testdata/treatments/course.csv: sprays 7 to 10 days apart is
// common practice without a source, weekly within it (UFIFAS); a look 2 to 3 days
// after each (UKENT); weekly for a month or more (ISU1996).
func DefaultCourse() Course {
	return Course{
		IntervalMin: 7, IntervalMax: 10, Interval: 7,
		CheckMin: 2, CheckMax: 3, CheckAfter: 3,
		MinDays: 28,
		Basis:   model.CommonPractice,
	}
}

// Applications is how many sprays at an interval the course needs.
func (c Course) Applications(interval int) int {
	return 1 + (c.MinDays+interval-1)/interval
}
