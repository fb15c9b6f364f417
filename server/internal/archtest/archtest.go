// Package archtest holds no code: its tests keep the shape of the tree. They check
// which package may import which, that every package introduces itself, and that
// the list of modules in use is the one that was reviewed.
package archtest
