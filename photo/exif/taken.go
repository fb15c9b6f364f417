package exif

// Taken is when a picture was taken: local wall time in the form
// "2026-03-01T18:22:31", followed by the offset from UTC as in "+01:00" when the
// camera wrote one. Without an offset the moment is not known, only what the
// clock showed. "" means unknown.
type Taken string

const (
	dateLen   = len("2006:01:02 15:04:05")
	offsetLen = len("+01:00")
)

// takenFrom reads the text of DateTimeOriginal and OffsetTimeOriginal. A date
// that is not a real one gives "", an offset that is not a real one is left out.
func takenFrom(date, offset string) Taken {
	if len(date) < dateLen || !realDate(date[:dateLen]) {
		return ""
	}
	t := date[0:4] + "-" + date[5:7] + "-" + date[8:10] + "T" + date[11:19]
	if len(offset) >= offsetLen && realOffset(offset[:offsetLen]) {
		t += offset[:offsetLen]
	}
	return Taken(t)
}

// exif gives the texts for the two tags, without their final NUL.
func (t Taken) exif() (date, offset string) {
	date = string(t[0:4] + ":" + t[5:7] + ":" + t[8:10] + " " + t[11:19])
	return date, string(t[dateLen:])
}

func realDate(s string) bool {
	year, month, day := digits(s[0:4]), digits(s[5:7]), digits(s[8:10])
	hour, minute, second := digits(s[11:13]), digits(s[14:16]), digits(s[17:19])
	return s[4] == ':' && s[7] == ':' && s[10] == ' ' && s[13] == ':' && s[16] == ':' &&
		year >= 1900 && month >= 1 && month <= 12 && day >= 1 && day <= daysIn(year, month) &&
		hour >= 0 && hour < 24 && minute >= 0 && minute < 60 && second >= 0 && second < 60
}

// realOffset accepts -14:00 to +14:00, the range clocks on Earth use.
func realOffset(s string) bool {
	hours, minutes := digits(s[1:3]), digits(s[4:6])
	return (s[0] == '+' || s[0] == '-') && s[3] == ':' && hours >= 0 && minutes >= 0 && minutes < 60 &&
		hours*60+minutes <= 14*60
}

// digits is the number s spells, -1 when s holds anything but digits.
func digits(s string) int {
	n := 0
	for i := range len(s) {
		if s[i] < '0' || s[i] > '9' {
			return -1
		}
		n = n*10 + int(s[i]-'0')
	}
	return n
}

func daysIn(year, month int) int {
	switch month {
	case 4, 6, 9, 11:
		return 30
	case 2:
		if year%4 == 0 && (year%100 != 0 || year%400 == 0) {
			return 29
		}
		return 28
	}
	return 31
}
