package bundle

// The limits of a bundle that is read. A study of forty states with its
// photographs has some fifty files and a few tens of MiB; traces are what is
// large.
const (
	// MaxArchive is how many bytes the archive itself may have. Below 4 GiB no
	// archive needs the Zip64 extension, so an archive that has it is refused.
	MaxArchive = 4<<30 - 1
	// MaxFiles is how many files it may hold.
	MaxFiles = 4096
	// MaxTotal is how many bytes its files may have together, unpacked.
	MaxTotal = 8 << 30
	// MaxText is how many bytes a text (the study, a table, the page) may have.
	MaxText = 64 << 20
	// MaxOther is how many bytes any other file may have: a trace.
	MaxOther = 4 << 30
	// MaxRatio is how much larger a file may get by unpacking, once it is larger
	// than MaxRatioFrom. Deflate reaches 1032; tables of a study reach about 20.
	MaxRatio     = 200
	MaxRatioFrom = 1 << 20
	// MaxName is how many bytes a file's name may have, with its folders.
	MaxName = 160
)
