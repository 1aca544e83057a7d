package scratch

import (
	"os"
	"syscall"
)

// memory is a file system in memory that anybody may write to.
const memory = "/dev/shm"

const tmpfs = 0x01021994 // TMPFS_MAGIC of statfs(2)

// free is how many bytes of memory a folder still takes, 0 if it is on a disk or
// cannot be written to.
func free(folder string) int64 {
	var s syscall.Statfs_t
	if syscall.Statfs(folder, &s) != nil || int64(s.Type) != tmpfs {
		return 0
	}
	try, err := os.MkdirTemp(folder, "scratch")
	if err != nil || os.Remove(try) != nil {
		return 0
	}
	return int64(s.Bavail) * int64(s.Bsize)
}
