package httpapi

// Bodies is for tests that mount handlers in an app of their own.
var Bodies = bodies
