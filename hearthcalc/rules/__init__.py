"""What the clauses ask: one module per subject, one function per clause."""
