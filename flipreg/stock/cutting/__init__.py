"""Programs run over the sections: pieces that come loose, bites, and wood that is met."""
