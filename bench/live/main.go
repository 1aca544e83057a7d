// Live measures eight meters at a thousand readings a second each: whether any is
// lost on the way from the simulated bench over SCPI into a trace of the notebook,
// and how old what a page shows ever is.
//
// The age is counted strictly: from the arrival of the first reading that an update
// of the page did not show to the moment at which the next update was shown. With
// -browser it is taken in a real browser, where the digits change; without, where
// the event arrives.
package main

import (
	"bufio"
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"log"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"time"

	"github.com/chromedp/chromedp"

	"railtally/internal/acquire"
	"railtally/internal/example"
	"railtally/internal/notebook"
	"railtally/internal/recording"
	"railtally/internal/simbench"
	"railtally/internal/studyfile"
	"railtally/internal/web"
)

func main() {
	channels := flag.Int("channels", 8, "meters")
	rate := flag.Float64("rate", 1000, "readings a second of each")
	length := flag.Duration("for", time.Minute, "how long")
	lot := flag.Int("lot", 20, "readings that a meter hands over at once")
	browser := flag.Bool("browser", false, "take the age in a real browser")
	flag.Parse()
	if err := run(context.Background(), *channels, *rate, *length, *lot, *browser); err != nil {
		log.Fatal(err)
	}
}

func run(ctx context.Context, channels int, rate float64, length time.Duration, lot int, browser bool) error {
	b, err := simbench.New(simbench.Config{Loggers: channels, Clock: simbench.Paced(1)})
	if err != nil {
		return err
	}
	if err := b.SetState("four-busy"); err != nil {
		return err
	}
	places, stop, err := b.Serve(ctx, 0)
	if err != nil {
		return err
	}
	defer stop()
	dir, err := os.MkdirTemp("", "live-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	nb, err := notebook.Open(ctx, filepath.Join(dir, "bench.db"), notebook.Options{})
	if err != nil {
		return err
	}
	defer nb.Close()
	settings := &acquire.Settings{}
	for _, p := range places[2:] {
		if err := settings.Put(acquire.Meter{Name: p.Meter, Address: p.Address, Query: fmt.Sprintf("DATA:REM? %d", lot), Spacing: 1 / rate,
			Setup: []string{fmt.Sprintf("SAMP:TIM %g", 1/rate), "INIT:CONT ON"}}); err != nil {
			return err
		}
	}
	if err := settings.Save(acquire.SettingsPath(nb.Path())); err != nil {
		return err
	}
	pages, err := web.New(web.Config{Notebook: nb})
	if err != nil {
		return err
	}
	server := httptest.NewServer(pages)
	defer server.CloseClientConnections()

	// The record and the page listen to the same station, as they do in the program;
	// the page begins and its stream runs throughout.
	station, err := pages.Station()
	if err != nil {
		return err
	}
	x, _, err := studyfile.Read("plan", example.Plan())
	if err != nil {
		return err
	}
	p, err := nb.Import(ctx, x, notebook.Origin{})
	if err != nil {
		return err
	}
	r, err := recording.Begin(ctx, nb, p.StudyID, station, settings.Meters, "all", notebook.Origin{})
	if err != nil {
		return err
	}
	recorded := make(chan error, 1)
	until, end := context.WithCancel(ctx)
	defer end()
	var counts []int64
	go func() {
		var err error
		counts, err = r.Run(until)
		recorded <- err
	}()
	ages, err := watch(ctx, server.URL, settings, length, browser)
	if err != nil {
		return err
	}
	for _, m := range settings.Meters {
		v, err := station.Now(m.Name)
		if err != nil {
			return err
		}
		if v.Lost > 0 {
			return fmt.Errorf("%s: the link was lost", m.Name)
		}
	}
	end()
	if err := <-recorded; err != nil {
		return err
	}
	station.Close()
	var lost, handed int64
	for _, m := range settings.Meters {
		l, h := b.Lost(m.Name)
		lost, handed = lost+l, handed+h
	}
	var rows int64
	for _, n := range counts {
		rows += n
	}
	kept, err := nb.Trace(ctx, r.Trace())
	if err != nil {
		return err
	}
	for i, n := range kept.Samples {
		if n != counts[i] {
			return fmt.Errorf("channel %d: %d samples in the notebook, %d were written", i, n, counts[i])
		}
	}
	info, err := os.Stat(nb.Path())
	if err != nil {
		return err
	}
	slices.Sort(ages)
	at := func(p float64) time.Duration { return ages[int(p*float64(len(ages)-1))].Round(time.Millisecond) }
	where := "where the event arrives"
	if browser {
		where = "in the browser"
	}
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	fmt.Printf("%d meters, %g readings/s each, %v, lots of %d\n", channels, rate, length, lot)
	fmt.Printf("readings      %d handed over by the meters, %d lost in their memories, %d in the notebook (a file of %.1f MB)\n", handed, lost, rows, float64(info.Size())/1e6)
	fmt.Printf("page, %s: %d updates; what they show is at most %v old; 99 %% %v, half %v\n", where, len(ages), at(1), at(0.99), at(0.5))
	fmt.Printf("memory        %.0f MB from the system\n", float64(m.Sys)/1e6)
	want := int64(float64(channels) * rate * length.Seconds())
	switch {
	case lost > 0 || rows < handed-int64(channels*lot) || rows > handed:
		return fmt.Errorf("readings were lost: %d of %d", handed-rows+lost, handed+lost)
	case rows < want*99/100:
		return fmt.Errorf("only %d readings of %d came in time", rows, want)
	case at(1) > 150*time.Millisecond:
		return fmt.Errorf("a page was %v behind; 150 ms are wanted", at(1))
	}
	return nil
}

// watch follows the page's stream and returns the age of every update.
func watch(ctx context.Context, base string, settings *acquire.Settings, length time.Duration, browser bool) ([]time.Duration, error) {
	if browser {
		return watchPage(ctx, base, length)
	}
	q := url.Values{}
	for _, m := range settings.Meters {
		q.Add("meter", m.Name)
	}
	a, err := http.Get(base + "/meters/live?" + q.Encode())
	if err != nil {
		return nil, err
	}
	defer a.Body.Close()
	var ages []time.Duration
	before := map[string]int64{}
	end := time.Now().Add(length)
	lines := bufio.NewReaderSize(a.Body, 1<<20)
	for time.Now().Before(end) {
		line, err := lines.ReadString('\n')
		if err != nil {
			return nil, err
		}
		text, ok := strings.CutPrefix(line, "data: ")
		if !ok {
			continue
		}
		now := time.Now().UnixMilli()
		var list []struct {
			Meter   string
			Arrived int64
		}
		if err := json.Unmarshal([]byte(text), &list); err != nil {
			return nil, err
		}
		for _, d := range list {
			if b := before[d.Meter]; b > 0 && d.Arrived > b {
				ages = append(ages, time.Duration(now-b)*time.Millisecond)
			}
			before[d.Meter] = d.Arrived
		}
	}
	return ages, nil
}

// watchPage opens the page Meters and takes the age where its digits change.
func watchPage(ctx context.Context, base string, length time.Duration) ([]time.Duration, error) {
	path, err := exec.LookPath("chromium")
	if err != nil {
		return nil, err
	}
	allocated, stop := chromedp.NewExecAllocator(ctx, chromedp.ExecPath(path), chromedp.Flag("headless", true), chromedp.Flag("no-sandbox", true))
	defer stop()
	tab, end := chromedp.NewContext(allocated)
	defer end()
	if err := chromedp.Do(tab, chromedp.Navigate(base+"/meters"), chromedp.WaitVisible("[data-live-meter]")); err != nil {
		return nil, err
	}
	script := `window.ages = []; for (const line of document.querySelectorAll("[data-live-meter]")) { let before = 0;
		new MutationObserver(() => { const a = Number(line.dataset.arrived); if (a === before) return;
			if (before > 0) window.ages.push(Date.now() - before); before = a; })
		.observe(line, { attributes: true, attributeFilter: ["data-arrived"] }); } true`
	if _, err := chromedp.Run(tab, chromedp.Evaluate[bool](script)); err != nil {
		return nil, err
	}
	time.Sleep(length)
	ms, err := chromedp.Run(tab, chromedp.Evaluate[[]int64]("window.ages"))
	if err != nil {
		return nil, err
	}
	out := make([]time.Duration, len(ms))
	for i, x := range ms {
		out[i] = time.Duration(x) * time.Millisecond
	}
	return out, nil
}
