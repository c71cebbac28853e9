package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"

	"lotpaper/internal/cli"
	"lotpaper/internal/ui"
)

// The test binary is three programs: the tests; lotpaper itself, for "exec
// lotpaper"; and the worker that runs the commands of one script.
func TestMain(m *testing.M) {
	switch filepath.Base(os.Args[0]) {
	case "lotpaper":
		main()
	case "worker":
		work()
	default:
		os.Exit(withPrograms(m))
	}
}

// programs is the folder that holds the test binary by its other names.
var programs string

func withPrograms(m *testing.M) int {
	self, err := os.Executable()
	if err == nil {
		programs, err = os.MkdirTemp("", "lotpaper-programs-*")
	}
	for _, name := range []string{"lotpaper", "worker"} {
		if err == nil {
			err = os.Symlink(self, filepath.Join(programs, name))
		}
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	defer os.RemoveAll(programs)
	os.Setenv("PATH", programs+string(os.PathListSeparator)+os.Getenv("PATH"))
	return m.Run()
}

// command is one command for a worker; result is what it did.
type command struct {
	Book string // LOTPAPER_BOOK
	Args []string
}

type result struct {
	Code     int
	Out, Err string
}

// work runs one command after the other. Its folder and its environment are the
// script's; LOTPAPER_BOOK comes with each command.
func work() {
	in, out := json.NewDecoder(os.Stdin), json.NewEncoder(os.Stdout)
	for {
		var c command
		if err := in.Decode(&c); errors.Is(err, io.EOF) {
			return
		} else if err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		os.Setenv("LOTPAPER_BOOK", c.Book)
		r := here(c.Args...)
		if err := out.Encode(r); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
	}
}

// here runs one command in this process.
func here(args ...string) (r result) {
	var out, errs bytes.Buffer
	r.Code = cli.Main(context.Background(), args, deps(&ui.Streams{In: strings.NewReader(""), Out: &out, Err: &errs}))
	r.Out, r.Err = out.String(), errs.String()
	return r
}

// worker is a running worker, as the test sees it.
type worker struct {
	process *exec.Cmd
	in      io.WriteCloser
	send    *json.Encoder
	receive *json.Decoder
	errs    bytes.Buffer
}

type workerKey struct{}

// startWorker starts the worker of a script that has e; it ends with the script.
func startWorker(e *testscript.Env) error {
	w := &worker{process: exec.Command(filepath.Join(programs, "worker"))}
	w.process.Dir, w.process.Env, w.process.Stderr = e.WorkDir, e.Vars, &w.errs
	in, err := w.process.StdinPipe()
	if err != nil {
		return err
	}
	out, err := w.process.StdoutPipe()
	if err != nil {
		return err
	}
	w.in, w.send, w.receive = in, json.NewEncoder(in), json.NewDecoder(out)
	if err := w.process.Start(); err != nil {
		return err
	}
	e.Values[workerKey{}] = w
	e.Defer(func() {
		w.in.Close()
		w.process.Wait()
	})
	return nil
}

// lotpaper runs one command in the script's worker: "exec lotpaper" gives it a
// process of its own, which takes ten times as long.
func lotpaper(ts *testscript.TestScript, args []string) int {
	w := ts.Value(workerKey{}).(*worker)
	var r result
	err := w.send.Encode(command{Book: ts.Getenv("LOTPAPER_BOOK"), Args: args})
	if err == nil {
		err = w.receive.Decode(&r)
	}
	if err != nil {
		w.in.Close()
		w.process.Wait() // after it, errs is whole
		ts.Fatalf("the command ended its process: %v\n%s", err, w.errs.String())
	}
	io.WriteString(ts.Stdout(), r.Out)
	io.WriteString(ts.Stderr(), r.Err)
	return r.Code
}

// lotpaperCommand is [!] lotpaper ARGS ...: the command ends well, or does not.
func lotpaperCommand(ts *testscript.TestScript, neg bool, args []string) {
	if code := lotpaper(ts, args); (code == 0) == neg {
		ts.Fatalf("exit status %d", code)
	}
}
