package household

import (
	"time"

	"leafturn/server/store"
)

// WithRoom makes a service that keeps states up to a weight.
func WithRoom(s store.Store, now func() time.Time, weight int) *Service {
	return &Service{rooms: newRooms(s, weight), store: s, now: now}
}

// Weight is the weight of the states in memory.
func Weight(s *Service) int {
	s.rooms.mu.Lock()
	defer s.rooms.mu.Unlock()
	return s.rooms.weight
}

// Rooms is how many households are in memory.
func Rooms(s *Service) int {
	s.rooms.mu.Lock()
	defer s.rooms.mu.Unlock()
	return len(s.rooms.open)
}
