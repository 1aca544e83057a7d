package notebook

import "time"

// What names a kind of row.
type What string

// The kinds of rows that are announced, see Change. All but AStudy, APlan,
// AnArchiving and ATraceEnd form chains.
const (
	AStudy       What = "study"
	APlan        What = "plan"
	ASitting     What = "sitting"
	AnEntry      What = "entry"
	APhoto       What = "photo"
	APin         What = "pin"
	AnInstrument What = "instrument"
	ATick        What = "tick"      // a step of the work was done or passed over
	AnArchiving  What = "archive"   // a study was put away or brought back
	AMapping     What = "mapping"   // what a trace is called and what its channels are
	ATraceEnd    What = "trace_end" // a trace was finished or given up
)

// Origin says where a row comes from.
type Origin struct {
	// Key is chosen by the sender, once for each row, and sent again when the
	// answer got lost: the row is then kept once. Empty: the notebook draws one.
	Key    string
	Device string    // which browser or program
	Who    string    // the person
	Why    string    // reason of a correction
	Taken  time.Time // the sender's clock; zero when not known. It orders nothing.
}

// Row is what the rows of all chains have in common.
type Row struct {
	ID int64
	// First is the id of the chain's first row, and so the identity of the
	// thing: other rows refer to it. It is ID in that row itself.
	First      int64
	Supersedes int64 // 0 in the first row
	SameAs     int64 // the earlier row that this one repeats; 0: it says something of its own
	Withdrawn  bool
	Origin
	Accepted time.Time // this computer's clock, UTC
}

// Ack says that a row is on disk.
type Ack struct {
	ID    int64
	First int64
	// Again tells that the row had been kept before: it was sent twice.
	Again bool
	// Aside tells that the row was kept but does not count, because another
	// stood in its place already; see Draft.Aside.
	Aside bool
	// Warning says what a person may want to look at; empty: nothing.
	Warning string
}
