"""Labels on paper: facts of things, symbols, faces, pages to print, pictures, and what was printed."""
