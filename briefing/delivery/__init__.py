"""Ways out: a folder, mail, a POST to an address of the user's: finished bytes go in, what became of them comes out."""
