//go:build unix

package meter

import (
	"runtime"
	"syscall"
	"time"
)

// CPU is the CPU time that the process has used.
func CPU() time.Duration {
	u := usage()
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

// Peak is the most memory that the process has had resident, in bytes.
func Peak() float64 {
	if runtime.GOOS == "darwin" {
		return float64(usage().Maxrss)
	}
	return float64(usage().Maxrss) * 1024
}

func usage() syscall.Rusage {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		panic(err) // the arguments are constant
	}
	return u
}
