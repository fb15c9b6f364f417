// Package fault is the one error type that reaches people.
//
// A Fault has a code, which programs compare and which never changes once
// released, and words, which a person reads: what happened, what is safe, what
// to do. The cause stays private: it is for logs and for errors.Is, and no
// screen or response shows it. An error that is not a Fault is internal: it is
// logged, and the person sees a plain sentence.
package fault

import "errors"

// Code names a kind of fault. Codes are lower_snake_case, cross the wire, and
// are never renamed or reused.
type Code string

// Fault is an error with a stable code and words for a person.
type Fault struct {
	Code  Code
	Words string
	cause error
}

// New makes a fault without a private cause.
func New(code Code, words string) *Fault {
	return &Fault{Code: code, Words: words}
}

// Because returns a copy of f that carries a private cause.
func (f *Fault) Because(cause error) *Fault {
	return &Fault{Code: f.Code, Words: f.Words, cause: cause}
}

// Error gives the code, the words and the cause, for logs.
func (f *Fault) Error() string {
	s := string(f.Code) + ": " + f.Words
	if f.cause != nil {
		s += " (" + f.cause.Error() + ")"
	}
	return s
}

// Unwrap gives the private cause, or nil.
func (f *Fault) Unwrap() error { return f.cause }

// Is reports whether target is a fault with the same code, so that
// errors.Is(err, ErrGap) holds for every fault made from ErrGap.
func (f *Fault) Is(target error) bool {
	var t *Fault
	return errors.As(target, &t) && t.Code == f.Code
}

// From finds the fault in err's chain, or reports that err is internal.
func From(err error) (*Fault, bool) {
	var f *Fault
	ok := errors.As(err, &f)
	return f, ok
}

// CodeOf is the code of the fault in err's chain, "" if there is none.
func CodeOf(err error) Code {
	if f, ok := From(err); ok {
		return f.Code
	}
	return ""
}
