package storetest

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"lotpaper/internal/book"
	"lotpaper/internal/store"
)

// childVariable tells a test binary that it is to write to a book instead of
// running tests: NAME|COUNT|ADDRESS.
const childVariable = "LOTPAPER_STORETEST_WRITER"

// Child does a writing process's work and exits, when this process was started
// as one. The engine's TestMain calls it first.
func Child(e Engine) {
	work := os.Getenv(childVariable)
	if work == "" {
		return
	}
	part := strings.SplitN(work, "|", 3)
	count, err := strconv.Atoi(part[1])
	if err == nil {
		err = writeLots(context.Background(), e, part[2], part[0], count)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	os.Exit(0)
}

// writeLots buys count lots one by one, each numbered inside its transaction,
// and says each entry's code once it is committed. count 0 never ends.
func writeLots(ctx context.Context, e Engine, address, name string, count int) error {
	s, err := e.Open(ctx, address, time.Now)
	if err != nil {
		return err
	}
	for i := 0; count == 0 || i < count; i++ {
		var code string
		err := s.Update(ctx, func(tx store.Tx) error {
			n, err := tx.Next(ctx, book.LotSeries("P1"))
			if err != nil {
				return err
			}
			x := buy(lot("P1", fmt.Sprintf("P1-%d", n)), 1, 1000, cents(100))
			x.Who = name
			err = tx.Post(ctx, &x)
			code = x.Code
			return err
		})
		if errors.Is(err, store.ErrLocked) {
			i--
			continue
		}
		if err != nil {
			return errors.Join(err, s.Close())
		}
		fmt.Println(code)
	}
	return s.Close()
}

func child(t *testing.T, address, name string, count int) *exec.Cmd {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	c := exec.Command(self)
	c.Env = append(os.Environ(), fmt.Sprintf("%s=%s|%d|%s", childVariable, name, count, address))
	return c
}

func testProcesses(t *testing.T, e Engine) {
	const processes, each = 8, 12
	f := newFixture(t, e)
	var wg sync.WaitGroup
	for i := range processes {
		wg.Add(1)
		go func() {
			defer wg.Done()
			out, err := child(t, f.address, fmt.Sprintf("writer %d", i), each).CombinedOutput()
			if err != nil {
				t.Errorf("writer %d: %v\n%s", i, err, out)
			}
		}()
	}
	for range 20 { // readers see whole entries meanwhile
		f.view(func(ctx context.Context, tx store.ReadTx) {
			h, err := tx.Head(ctx)
			if err != nil {
				t.Fatal(err)
			}
			b, err := tx.Balances(ctx, store.BalanceFilter{RealOnly: true})
			if err != nil || int64(len(b)) != h.Sequence {
				t.Errorf("%d balances at entry %d (%v)", len(b), h.Sequence, err)
			}
		})
		time.Sleep(5 * time.Millisecond)
	}
	wg.Wait()
	f.view(func(ctx context.Context, tx store.ReadTx) {
		entries, err := tx.Entries(ctx, store.EntryFilter{})
		if err != nil || len(entries) != processes*each {
			t.Fatalf("%d entries, want %d (%v)", len(entries), processes*each, err)
		}
		by := map[string]int{}
		for i, x := range entries {
			by[x.Who]++
			if want := fmt.Sprintf("P1-%d", i+1); x.Postings[0].Lot != want {
				t.Errorf("%s has lot %s, want %s", x.Code, x.Postings[0].Lot, want)
			}
		}
		if len(by) != processes {
			t.Errorf("writers: %v", by)
		}
	})
	f.mustCheck()
}

func testKill(t *testing.T, e Engine) {
	f := newFixture(t, e)
	f.close()
	last := int64(0)
	for round := range 4 {
		c := child(t, f.address, "killed", 0)
		out, err := c.StdoutPipe()
		if err != nil {
			t.Fatal(err)
		}
		if err := c.Start(); err != nil {
			t.Fatal(err)
		}
		lines := bufio.NewScanner(out)
		for n := 0; n < 3+2*round && lines.Scan(); n++ {
			n, err := strconv.ParseInt(strings.TrimPrefix(lines.Text(), "E"), 10, 64)
			if err != nil {
				t.Fatalf("the writer says %q", lines.Text())
			}
			last = n
		}
		if err := c.Process.Kill(); err != nil {
			t.Fatal(err)
		}
		_ = c.Wait() // killed: its error says so
		s, err := e.Open(t.Context(), f.address, f.clock.Now)
		if err != nil {
			t.Fatal(err)
		}
		f.store = s
		f.view(func(ctx context.Context, tx store.ReadTx) {
			if h, err := tx.Head(ctx); err != nil || h.Sequence < last || last == 0 {
				t.Errorf("the writer committed E%d, the book ends at E%d (%v)", last, h.Sequence, err)
			}
		})
		f.mustCheck()
		f.close()
	}
}
