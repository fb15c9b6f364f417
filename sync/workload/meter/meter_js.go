package meter

import (
	"syscall/js"
	"time"
)

var process = js.Global().Get("process")

// CPU is the CPU time that the Node process has used, its compiler's included.
func CPU() time.Duration {
	u := process.Call("cpuUsage")
	return time.Duration(u.Get("user").Int()+u.Get("system").Int()) * time.Microsecond
}

// Peak is the most memory that the Node process has had resident, in bytes: about
// 45 MB of it are Node itself.
func Peak() float64 { return process.Call("resourceUsage").Get("maxRSS").Float() * 1024 }
