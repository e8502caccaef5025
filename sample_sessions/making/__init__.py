"""How the sample course is made from the texts and tables of `source/`: one kind of record a file."""
