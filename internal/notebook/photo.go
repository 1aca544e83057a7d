package notebook

// Side is a side of a board.
type Side string

// The sides of a board. A photo of a step has no side.
const (
	Front Side = "front"
	Back  Side = "back"
)

// View is what a photo is of.
type View struct {
	Board string
	Side  Side
	Step  int64 // first row of a step; 0: it is of the board
	Note  string
}

// Picture is an image, cleaned by the caller of all that is not picture.
type Picture struct {
	Type          string // "image/jpeg", "image/png"
	Width, Height int    // in pixels
	Bytes         []byte
}

// Photo is one row of a chain. The bytes are fetched with PictureOf.
type Photo struct {
	Row
	Study int64
	View
	SHA256        string // of the bytes, hexadecimal
	Type          string
	Width, Height int
	Size          int64 // bytes
}

// Role is what a pin marks.
type Role string

// The roles of a pin.
const (
	Opening Role = "opening" // where the rail was opened
	Probe   Role = "probe"   // where a voltage is read
	Other   Role = "other"
)

// Spot is what a pin says.
type Spot struct {
	Number    int // as shown beside it; 0: none
	Role      Role
	Rail, Tap string
	Point     string  // name of a probe point
	X, Y      float64 // from the left and from the top, 0 to 1
	Note      string
}

// Pin is one row of a chain: a place on a photo.
type Pin struct {
	Row
	Study int64
	Photo int64 // first row of the photo
	Spot
}
