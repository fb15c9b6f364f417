package texts

// Photos are the words about photos that were just taken. Doubt is why one had better
// be taken again, by the reason's own word.
type Photos struct {
	Working             func(n int) string
	Kept, Again, Remove string
	Doubt               map[string]string
}
