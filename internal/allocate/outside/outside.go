// Package outside hands a problem to a solver that is not ours, for tests and
// for measuring: CBC (the program cbc), or HiGHS (node with the npm package
// "highs"). They read the model that allocate.WriteMPS writes.
package outside

import (
	"bufio"
	"bytes"
	"context"
	"crypto/sha256"
	_ "embed"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"time"

	"lotpaper/internal/allocate"
)

// Answer is what a solver found. Without a plan Value is 0; without a bound
// Bound is -1.
type Answer struct {
	Solver  string  `json:"solver"`
	Version string  `json:"version"`
	Status  string  `json:"status"`
	Value   int64   `json:"value"`
	Bound   int64   `json:"bound"`
	Seconds float64 `json:"seconds"`
}

// ErrMissing says that the solver is not on this machine.
var ErrMissing = errors.New("outside: solver not found")

// Solve runs the named solver ("cbc" or "highs") to the relative gap or the
// time limit.
func Solve(ctx context.Context, solver string, p allocate.Problem, gap float64, limit time.Duration) (Answer, error) {
	dir, err := os.MkdirTemp("", "lineplan")
	if err != nil {
		return Answer{}, err
	}
	defer os.RemoveAll(dir)
	model := filepath.Join(dir, "model.mps")
	var text bytes.Buffer
	if err := allocate.WriteMPS(&text, p); err != nil {
		return Answer{}, err
	}
	if err := os.WriteFile(model, text.Bytes(), 0o600); err != nil {
		return Answer{}, err
	}
	switch solver {
	case "cbc":
		return cbc(ctx, model, gap, limit)
	case "highs":
		return highs(ctx, dir, model, gap, limit)
	}
	return Answer{}, fmt.Errorf("outside: no solver %q: use cbc or highs", solver)
}

// Hash identifies a model: SHA-256 of its MPS text.
func Hash(p allocate.Problem) (string, error) {
	h := sha256.New()
	if err := allocate.WriteMPS(h, p); err != nil {
		return "", err
	}
	return hex.EncodeToString(h.Sum(nil)), nil
}

var (
	cbcVersion = regexp.MustCompile(`(?m)^Version:\s+(\S+)`)
	cbcValue   = regexp.MustCompile(`(?m)^Objective value:\s+(\S+)`)
	cbcBound   = regexp.MustCompile(`(?m)^Lower bound:\s+(\S+)`)
	cbcResult  = regexp.MustCompile(`(?m)^Result - (.+)$`)
)

func cbc(ctx context.Context, model string, gap float64, limit time.Duration) (Answer, error) {
	path, err := exec.LookPath("cbc")
	if err != nil {
		return Answer{}, fmt.Errorf("%w: cbc (Debian package coinor-cbc)", ErrMissing)
	}
	started := time.Now()
	out, err := exec.CommandContext(ctx, path, model, "sec", seconds(limit), "ratio", fmt.Sprint(gap), "solve", "quit").
		CombinedOutput()
	if err != nil {
		return Answer{}, fmt.Errorf("outside: cbc: %w\n%s", err, out)
	}
	a := Answer{Solver: "cbc", Seconds: time.Since(started).Seconds(), Bound: -1, Status: last(cbcResult, out),
		Version: last(cbcVersion, out)}
	if v, err := strconv.ParseFloat(last(cbcValue, out), 64); err == nil &&
		!strings.Contains(a.Status, "No feasible") && v < 1e30 {
		a.Value = int64(math.Round(-v))
	}
	if a.Status == "Optimal solution found" {
		a.Bound = a.Value
	}
	if v, err := strconv.ParseFloat(last(cbcBound, out), 64); err == nil {
		a.Bound = int64(math.Floor(-v + 1e-6))
	}
	return a, nil
}

func last(re *regexp.Regexp, text []byte) string {
	all := re.FindAllSubmatch(text, -1)
	if len(all) == 0 {
		return ""
	}
	return strings.TrimSpace(string(all[len(all)-1][1]))
}

func seconds(d time.Duration) string { return strconv.FormatFloat(d.Seconds(), 'f', 0, 64) }

//go:embed highs.js
var highsScript []byte

// highs looks for the package where NODE_PATH says and in the working folder.
func highs(ctx context.Context, dir, model string, gap float64, limit time.Duration) (Answer, error) {
	node, err := exec.LookPath("node")
	if err != nil {
		return Answer{}, fmt.Errorf("%w: node", ErrMissing)
	}
	script := filepath.Join(dir, "highs.js")
	if err := os.WriteFile(script, highsScript, 0o600); err != nil {
		return Answer{}, err
	}
	cmd := exec.CommandContext(ctx, node, script, model, fmt.Sprint(gap), seconds(limit))
	here, _ := os.Getwd()
	cmd.Env = append(os.Environ(), "NODE_PATH="+os.Getenv("NODE_PATH")+string(os.PathListSeparator)+filepath.Join(here,
		"node_modules"))
	var stderr bytes.Buffer
	cmd.Stderr = &stderr
	out, err := cmd.Output()
	if err != nil {
		if strings.Contains(stderr.String(), "Cannot find module") {
			return Answer{}, fmt.Errorf("%w: npm package highs (install it, or set NODE_PATH)", ErrMissing)
		}
		return Answer{}, fmt.Errorf("outside: highs: %w\n%s", err, stderr.Bytes())
	}
	var r struct {
		Version, Status  string
		Objective, Bound *float64
		Seconds          float64
	}
	lines := bufio.NewScanner(bytes.NewReader(out))
	for lines.Scan() {
		if json.Unmarshal(lines.Bytes(), &r) == nil && r.Version != "" {
			break
		}
	}
	a := Answer{Solver: "highs", Version: r.Version, Status: highsStatus(r.Status), Bound: -1, Seconds: r.Seconds}
	if r.Objective != nil && math.Abs(*r.Objective) < 1e30 {
		a.Value = int64(math.Round(-*r.Objective))
	}
	if r.Bound != nil && math.Abs(*r.Bound) < 1e30 {
		a.Bound = int64(math.Floor(-*r.Bound + 1e-6))
	}
	return a, nil
}

// highsStatus names the two of HiGHS's model statuses that matter here.
func highsStatus(code string) string {
	switch code {
	case "7":
		return "Optimal solution found"
	case "13":
		return "Stopped on time limit"
	}
	return "status " + code
}
