package allocate_test

import (
	"context"
	"fmt"
	"os"
	"strconv"
	"syscall"
	"testing"
	"time"

	"lotpaper/internal/allocate"
	"lotpaper/internal/allocate/instance"
)

func TestProbe(t *testing.T) {
	n, _ := strconv.Atoi(os.Getenv("PN"))
	if n == 0 {
		n = 200
	}
	first, _ := strconv.Atoi(os.Getenv("PS"))
	for seed := uint64(max(1, first)); seed <= uint64(max(4, first)); seed++ {
		c0 := cpu()
		t0 := time.Now()
		p := instance.New(instance.Options{Stones: n, Seed: seed, Dear: os.Getenv("PDEAR") != ""}).Problem()
		e := time.Since(t0)
		r, err := allocate.Solve(context.Background(), p, allocate.Settings{})
		if err != nil {
			t.Fatal(err)
		}
		fmt.Printf("seed %d enum %.2fs value %d bound %d gap %.3f%% %v pieces %d entries %d edges %d groups %d work %dM dual %d moves %d nodes %d %.2fs cpu %.2fs\n", seed, e.Seconds(), r.Value, r.Bound, r.GapPercent, r.Status, len(r.Pieces), r.Stats.Entries, r.Stats.Edges, r.Stats.Groups, r.Stats.Work/1e6, r.Stats.DualIterations, r.Stats.Moves, r.Stats.Nodes, r.Stats.Elapsed.Seconds(), cpu()-c0)
	}
}

func cpu() float64 {
	var u syscall.Rusage
	syscall.Getrusage(0, &u)
	return float64(u.Utime.Sec) + float64(u.Utime.Usec)/1e6
}
