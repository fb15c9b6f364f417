package hint

import (
	"bytes"
	"strconv"
	"time"
)

// maxLine is more than the longest line that a server writes. What is longer is
// skipped, so that a stream cannot fill the memory.
const maxLine = 1024

// Reader takes a stream in pieces, cut anywhere. The zero Reader is at the beginning
// of one.
type Reader struct {
	Retry time.Duration // within which to come back, 0 if the server has not said

	line    []byte
	long    bool // the line is too long and is being skipped
	skipLF  bool // the last line ended with a carriage return
	id      Mark
	hasData bool
}

// Take takes the next piece and gives the marks of the events that it completes.
func (r *Reader) Take(piece []byte) []Mark {
	var marks []Mark
	for _, c := range piece {
		lf := c == '\n' && r.skipLF
		r.skipLF = c == '\r'
		switch {
		case lf:
		case c == '\n' || c == '\r':
			if m, ok := r.endLine(); ok {
				marks = append(marks, m)
			}
		case len(r.line) == maxLine:
			r.long = true
		default:
			r.line = append(r.line, c)
		}
	}
	return marks
}

// endLine takes in a whole line. An empty one ends an event, which counts if it has
// data.
func (r *Reader) endLine() (Mark, bool) {
	line, long := r.line, r.long
	r.line, r.long = r.line[:0], false
	if long {
		return "", false
	}
	if len(line) == 0 {
		whole := r.hasData
		r.hasData = false
		return r.id, whole
	}
	name, value, _ := bytes.Cut(line, []byte(":"))
	value = bytes.TrimPrefix(value, []byte(" "))
	switch string(name) {
	case "id":
		if bytes.IndexByte(value, 0) < 0 {
			r.id = Mark(value)
		}
	case "data":
		r.hasData = true
	case "retry":
		if ms, err := strconv.ParseUint(string(value), 10, 31); err == nil {
			r.Retry = time.Duration(ms) * time.Millisecond
		}
	}
	return "", false
}
