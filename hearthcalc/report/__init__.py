"""An assessment as a document: one model, and a writer for each kind of paper."""
