// Montecarlo measures how long a million trials of the power of eight rails
// take, and prints the result as JSON. The script compare.sh beside it runs the
// same model in numpy and compares figures and times.
package main

import (
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"os"
	"time"

	"railtally/gum"
)

const (
	rails        = 8
	scale, turns = 10, 3 // ampere per volt of the clamp, turns through its jaw
)

// power records the sum over rails of V·I, where
//
//	I = S(1+gC)[y(1+gM) + oM + q − z − d]/N·(1+p)
//
// with nine inputs per rail. The numbers are invented.
func power(g *gum.Graph) gum.Value {
	in := func(name string, d gum.Distribution) gum.Value { return g.Input(gum.Input{Name: name, Dist: d}) }
	within := func(a float64) gum.Distribution { return gum.Rectangular{Lo: -a, Hi: a} }
	var sum []gum.Value
	for k := range rails {
		y0, v0 := 0.15+0.05*float64(k), 0.8+0.3*float64(k)
		y := in("reading", gum.StudentT{Mean: y0, Scale: 0.0004, DOF: 9})
		gM := in("meter gain", within(0.0005))
		oM := in("meter offset", within(0.0003))
		q := in("resolution", within(0.00005))
		z := in("zero", gum.Normal{Mean: 0.002, U: 0.0002})
		d := in("zero drift", within(0.0004))
		gC := in("clamp gain", gum.Normal{U: 0.008})
		p := in("position", within(0.006))
		v := in("voltage", gum.Normal{Mean: v0, U: 0.001 * v0})

		signal := y.Mul(gM.AddConst(1)).Add(oM).Add(q).Sub(z).Sub(d)
		current := signal.Scale(scale).Mul(gC.AddConst(1)).Scale(1.0 / turns).Mul(p.AddConst(1))
		sum = append(sum, v.Mul(current))
	}
	return gum.Sum(sum...)
}

func main() {
	trials := flag.Int("trials", 1_000_000, "number of trials")
	workers := flag.Int("workers", 0, "goroutines, 0 for all processors")
	seed := flag.Uint64("seed", 1, "seed")
	flag.Parse()
	if err := run(*trials, *workers, *seed); err != nil {
		fmt.Fprintln(os.Stderr, "montecarlo:", err)
		os.Exit(1)
	}
}

func run(trials, workers int, seed uint64) error {
	begin := time.Now()
	g := gum.New()
	total := power(g)
	res, err := g.MonteCarlo(context.Background(), gum.MCOptions{Trials: trials, Workers: workers, Seed: seed}, total)
	if err != nil {
		return err
	}
	seconds := time.Since(begin).Seconds()
	out := res.Outputs[0]
	return json.NewEncoder(os.Stdout).Encode(map[string]any{
		"trials": res.Trials, "mean": out.Mean, "u": out.U,
		"symmetric": []float64{out.Symmetric.Lo, out.Symmetric.Hi},
		"shortest":  []float64{out.Shortest.Lo, out.Shortest.Hi},
		"seconds":   seconds,
	})
}
