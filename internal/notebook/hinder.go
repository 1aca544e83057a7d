package notebook

import "context"

// Hinder sets a pragma of SQLite on the connection that writes, such as
// "max_page_count = 40", which refuses entries as a full disk does, or
// "query_only = ON", as a file does that cannot be written any longer. It is for
// tests of those who show that; what is kept stays sound whatever is set.
func (nb *Notebook) Hinder(ctx context.Context, pragma string) error {
	_, err := nb.w.ExecContext(ctx, "PRAGMA "+pragma)
	return explained("set "+pragma, nb.path, err)
}
