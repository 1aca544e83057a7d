package look

import "fmt"

// Role is what a colour is for.
type Role uint8

// The roles.
const (
	Paper      Role = iota // the ground
	Raised                 // a panel on the ground
	Ink                    // text and outlines
	Muted                  // secondary text; still readable on Paper and Raised
	Line                   // hairlines and grids, never needed to understand
	Edge                   // outlines that are needed: fields, light areas
	Accent                 // power, links, what is chosen
	OnAccent               // text on Accent
	AccentSoft             // the interval around what is drawn in Accent
	Focus                  // the ring around what has the keyboard
	Good                   // a verdict that holds
	Warn                   // worth a second look
	Bad                    // wrong
	GoodSoft               // grounds for texts in the three above
	WarnSoft
	BadSoft
	board1
	board2
	board3
	board4
	board1Soft
	board2Soft
	board3Soft
	board4Soft
	rail1
	rail2
	rail3
	rail4
	rail5
	rail6
	rail7
	rail8
	rail9
	rail10
	rail11
	rail12
	numRoles
)

// Boards and Rails are how many boards and rails have a colour of their own.
const (
	Boards = 4
	Rails  = 12
)

var roleNames = [numRoles]string{
	"paper", "raised", "ink", "muted", "line", "edge",
	"accent", "on-accent", "accent-soft", "focus",
	"good", "warn", "bad", "good-soft", "warn-soft", "bad-soft",
	"board-1", "board-2", "board-3", "board-4",
	"board-1-soft", "board-2-soft", "board-3-soft", "board-4-soft",
	"rail-1", "rail-2", "rail-3", "rail-4", "rail-5", "rail-6",
	"rail-7", "rail-8", "rail-9", "rail-10", "rail-11", "rail-12",
}

// Board returns the colour of the i-th board, counted from 0. Beyond Boards
// they begin again; shape and label must tell the boards apart as well.
func Board(i int) Role { return board1 + Role(i%Boards) }

// BoardSoft returns the colour of the interval around what is drawn in Board.
func BoardSoft(i int) Role { return board1Soft + Role(i%Boards) }

// Rail returns the colour of the i-th rail, counted from 0. Neighbours differ
// in lightness. Beyond Rails they begin again.
func Rail(i int) Role { return rail1 + Role(i%Rails) }

// Roles lists every role.
func Roles() []Role {
	out := make([]Role, numRoles)
	for i := range out {
		out[i] = Role(i)
	}
	return out
}

// String returns the role's name as it stands in CSS: "accent-soft".
func (r Role) String() string {
	if r >= numRoles {
		return fmt.Sprintf("role(%d)", uint8(r))
	}
	return roleNames[r]
}

// Var returns the role as a CSS value: "var(--accent-soft)".
func (r Role) Var() string { return "var(--" + r.String() + ")" }
