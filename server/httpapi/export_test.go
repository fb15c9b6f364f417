package httpapi

// Bodies is for tests that mount handlers in an app of their own.
var Bodies = (&server{ration: newRation(rationBytes)}).bodies
