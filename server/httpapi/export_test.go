package httpapi

// Bodies is for tests that mount handlers in an app of their own.
var Bodies = (&server{ration: newRation(rationBytes)}).bodies

// SetBusy lets a test say whether the server is busy.
func SetBusy(e *Events, busy func() bool) { e.busy = busy }
