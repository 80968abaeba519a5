"""Makes the pages of docs/ into a site for a browser, with the reference written from the program itself."""
