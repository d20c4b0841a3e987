"""Who may ask, and what an answer may do in the browser. Each module is one layer round the application."""
