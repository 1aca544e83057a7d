package notebook

import (
	"bufio"
	"context"
	"fmt"
	"os"
	"os/exec"
	"testing"

	"railtally/internal/quantity"
	"railtally/internal/trace/packed"
)

// The test binary plays another process when these are set.
const (
	childRole = "RAILTALLY_TEST_CHILD"
	childFile = "RAILTALLY_TEST_FILE"
)

// child prepares the test binary to play a role on a file.
func child(t testing.TB, role, file string) *exec.Cmd {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	c := exec.Command(self)
	c.Env = append(os.Environ(), childRole+"="+role, childFile+"="+file)
	c.Stderr = os.Stderr
	return c
}

// playChild is what another process does.
func playChild(role, file string) error {
	ctx := context.Background()
	switch role {
	case "append": // until killed: append, then say so
		return appendForEver(ctx, file)
	case "keep log": // until killed: half an import
		return halfKept(ctx, file, logText(4*packed.ChunkSize))
	case "begin": // a new notebook, and then wait to be killed
		nb, err := Open(ctx, file, Options{})
		if err != nil {
			return err
		}
		defer nb.Close()
		fmt.Println("begun")
		select {}
	case "one": // one entry to sitting 1, step 1
		nb, err := Open(ctx, file, Options{})
		if err != nil {
			return err
		}
		defer nb.Close()
		a, err := nb.Append(ctx, Draft{Sitting: 1, Content: Content{Kind: Note, Step: 1, Text: "from another process"}})
		if err != nil {
			return err
		}
		fmt.Println("kept", a.ID)
	case "hold": // the file for itself, until the parent closes the pipe
		db, err := writer(file, busyWait)
		if err != nil {
			return err
		}
		defer db.Close()
		if _, err := db.Exec("BEGIN EXCLUSIVE"); err != nil {
			return err
		}
		fmt.Println("held")
		bufio.NewReader(os.Stdin).ReadString('\n')
	case "open": // say how opening ends, for somebody who may not do everything
		if err := asNobody(); err != nil {
			return err
		}
		nb, err := Open(ctx, file, Options{})
		if err == nil {
			nb.Close()
			fmt.Println("opened")
			return nil
		}
		fmt.Printf("%s|%s|%s\n", CodeOf(err), err, HintOf(err))
	default:
		return fmt.Errorf("no role %q", role)
	}
	return nil
}

// appendForEver appends notes with keys that count up from what the file holds,
// and prints each key when it is acknowledged.
func appendForEver(ctx context.Context, file string) error {
	nb, err := Open(ctx, file, Options{})
	if err != nil {
		return err
	}
	log, err := nb.Entries(ctx, 1)
	if err != nil {
		return err
	}
	for n := len(log); ; n++ {
		key := fmt.Sprintf("key-%d", n)
		if _, err := nb.Append(ctx, Draft{Sitting: 1, Origin: Origin{Key: key}, Content: Content{Kind: Temperature, Step: 1, Name: key, Text: "20 °C",
			Unit: quantity.Celsius}}); err != nil {
			return err
		}
		if _, err := os.Stdout.WriteString(key + "\n"); err != nil {
			return err
		}
	}
}
