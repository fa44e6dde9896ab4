"""Data services, one module each: retrieve (over the one client in ``http``) and parse (body in, core types out)."""
