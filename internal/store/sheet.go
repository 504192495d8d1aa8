package store

// Sheet says which version of whose plan a paper sheet shows.
type Sheet struct {
	Site, Client string
	Version      int
}

// SaveSheet keeps what the code on a paper sheet stands for.
func (tx *Tx) SaveSheet(code string, s Sheet) error {
	return tx.exec(`INSERT INTO sheets (code, site, client, version, made_at) VALUES ($1, $2, $3, $4, $5)`,
		code, s.Site, s.Client, s.Version, micros(tx.Now))
}

// Sheet finds the sheet of a code within a site.
func (tx *Tx) Sheet(site, code string) (Sheet, bool, error) {
	s := Sheet{Site: site}
	ok, err := tx.one(`SELECT client, version FROM sheets WHERE code = $1 AND site = $2`, []any{code, site}, &s.Client, &s.Version)
	return s, ok, err
}
