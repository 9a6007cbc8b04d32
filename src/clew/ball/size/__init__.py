"""How large a ball is: wound stress, the bore, at rest and pressed."""
