"""Who may come in and with what: one guard before every page and every JSON route."""
