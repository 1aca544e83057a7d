// Package bundle packs a study so that others can check it, and checks what
// others packed.
//
// A bundle is a zip archive with the study's text, its readings as tables, every
// published figure as it is stated, the page to publish, photographs, traces,
// and a manifest with the SHA-256 of each. The same study packed by the same
// program gives the same bytes.
//
// # Verifying
//
// Verify trusts nothing. It hashes every file, reads the study's text, computes
// everything anew, and compares: readings with the table of readings, figures
// with figures.json to the last digit, the page with the page it would set. A
// figure that does not follow is named, and so is the reading it changed with.
// What it cannot tell is whether the readings were taken as they are written;
// nor that somebody did not pack another study altogether.
//
// # Reading what a stranger packed
//
// Open refuses an archive that could do harm where it is unpacked, or that other
// programs could read as something else: see Limits, checkName and layout. Files
// are read under a limit whatever the archive says of their size.
//
// Files: limits, name, layout and open read archives; manifest, member and pack
// write them; verify and its parts check; unpack writes to a folder.
package bundle
