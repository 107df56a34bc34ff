"""The page What happens: the answer first, then how it comes about, then what it rests on."""
