package notebook

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"math/rand/v2"
	"path/filepath"
	"sync"
	"testing"
	"time"
)

// kills is how many processes are killed, over several files.
const kills, killFiles = 208, 8

// TestKill: processes that append are killed with SIGKILL at random moments.
// Every entry that was acknowledged is there, in order, none twice, and the file
// is whole. A kill loses what a process held in memory, not what the system
// holds for it: that a commit survives a power cut rests on synchronous FULL,
// which no test on a running machine can show.
func TestKill(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	dir := t.TempDir()
	var wg sync.WaitGroup
	for f := range killFiles {
		path := filepath.Join(dir, fmt.Sprintf("%d.db", f))
		nb := must[*Notebook](t)(Open(ctx, path, Options{}))
		atBench(t, nb)
		if err := nb.Close(); err != nil {
			t.Fatal(err)
		}
		random := rand.New(rand.NewPCG(7, uint64(f)))
		wg.Go(func() {
			var acknowledged []string
			for range kills / killFiles {
				acknowledged = append(acknowledged, killed(t, path, random)...)
			}
			survived(t, path, acknowledged)
		})
	}
	wg.Wait()
}

// TestKillAtBeginning: a process is killed while it makes a new notebook. What
// it leaves can be opened and is whole.
func TestKillAtBeginning(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	random := rand.New(rand.NewPCG(7, 7))
	for i := range 24 {
		path := filepath.Join(dir, fmt.Sprintf("%d.db", i))
		c := child(t, "begin", path)
		if err := c.Start(); err != nil {
			t.Fatal(err)
		}
		time.Sleep(time.Duration(random.IntN(80)) * time.Millisecond)
		if err := c.Process.Kill(); err != nil {
			t.Fatal(err)
		}
		c.Wait()
		sound(t, openedAt(t, path))
	}
}

// killed lets a process append, kills it soon after its first word, and returns
// the keys that it had acknowledged. What it wrote before it died is still in
// the pipe and counts: it was acknowledged.
func killed(t *testing.T, path string, random *rand.Rand) (keys []string) {
	c := child(t, "append", path)
	out, err := c.StdoutPipe()
	if err != nil {
		t.Error(err)
		return nil
	}
	if err := c.Start(); err != nil {
		t.Error(err)
		return nil
	}
	lines := bufio.NewReader(out)
	after := random.IntN(4) // so many words, then a moment more
	for n := 0; ; n++ {
		line, err := lines.ReadString('\n')
		if err == io.EOF {
			break
		}
		if err != nil {
			t.Error(err)
			break
		}
		keys = append(keys, line[:len(line)-1])
		if n == after {
			go func(pause time.Duration) {
				time.Sleep(pause)
				c.Process.Kill()
			}(time.Duration(random.IntN(4000)) * time.Microsecond)
		}
	}
	if err := c.Wait(); err == nil || err.Error() != "signal: killed" {
		t.Errorf("the process ended by itself: %v", err)
	}
	return keys
}

// survived checks a file after its processes were killed.
func survived(t *testing.T, path string, acknowledged []string) {
	ctx := context.Background()
	nb, err := Open(ctx, path, Options{})
	if err != nil {
		t.Error(err)
		return
	}
	defer nb.Close()
	problems, err := nb.Check(ctx)
	if err != nil || problems != nil {
		t.Errorf("%v %v", problems, err)
	}
	log, err := nb.Entries(ctx, 1)
	if err != nil {
		t.Error(err)
		return
	}
	place := make(map[string]int)
	for i, e := range log {
		if _, twice := place[e.Key]; twice {
			t.Errorf("%s is there twice", e.Key)
		}
		place[e.Key] = i
	}
	last := 0
	for _, key := range acknowledged {
		i, ok := place[key]
		if !ok || i <= last {
			t.Errorf("%s was acknowledged, and is entry %d after %d (there: %v)", key, i, last, ok)
		}
		last = i
	}
	t.Logf("%d acknowledged, %d there", len(acknowledged), len(log)-1)
	if len(acknowledged) < kills/killFiles || len(log)-1 > len(acknowledged)+kills/killFiles {
		t.Errorf("%d were acknowledged and %d are there, with one in flight at each kill", len(acknowledged), len(log)-1)
	}
}
