// Command bench measures what a photo costs the server, beside libvips, a widely used
// library for pictures, doing the same work in the same run.
//
//	bench [-rounds n] [-images n]
//
// It prints "name value unit" lines, and on standard error what each way took. The
// work is that of a server: from a photo of 12 million pixels, or from one that a
// phone has made smaller, to a stripped file and upright copies of 1280 and 320
// pixels. Every way is a process of its own, started in turns, so that CPU time and
// memory are those the operating system counts; medians count. vipsthumbnail must be
// installed.
//
// With -work the program does one piece of the work and ends: that is how it starts
// itself.
package main

import (
	"flag"
	"fmt"
	"os"
)

func main() {
	rounds := flag.Int("rounds", 7, "how often each way is measured with each picture")
	images := flag.Int("images", 3, "how many pictures")
	work := flag.String("work", "", "do one piece of work on what is named: draw, receive, strip or compare")
	flag.Parse()
	var err error
	if *work != "" {
		err = workOn(*work, flag.Arg(0), flag.Arg(1))
	} else {
		err = measure(*rounds, *images)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, "bench:", err)
		os.Exit(1)
	}
}
