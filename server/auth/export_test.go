package auth

// Remember sets how many good tokens are remembered.
func Remember(s *Service, most int) { s.tokens.most = most }

// Remembered is how many good tokens are remembered now.
func Remembered(s *Service) int {
	s.tokens.mu.Lock()
	defer s.tokens.mu.Unlock()
	return len(s.tokens.good)
}
