package main

import (
	"context"
	"os"
)

func main() {
	std := streams{in: os.Stdin, out: os.Stdout, err: os.Stderr}
	os.Exit(run(context.Background(), os.Args[1:], std))
}
