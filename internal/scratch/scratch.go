// Package scratch is where tests keep files whose disk is not what they test:
// in memory, where that can be had. Thousands of commits that each wait for a
// disk were a good part of the time of all tests.
//
// A process that is killed leaves there what it would leave on a disk: what the
// system holds for it. What a power cut leaves, no test can show on either.
package scratch

import "os"

// least is the room without which memory is not used: many times what the tests
// of a package hold at once.
const least = 2 << 30 // bytes

// InMemory puts the temporary files of this process and of those it starts into
// memory, unless somebody has said where they go. Call it in TestMain.
func InMemory() {
	if os.Getenv("TMPDIR") == "" && free(memory) >= least {
		_ = os.Setenv("TMPDIR", memory) // a name without a zero or =: it cannot fail
	}
}
