"""The store in the browser: accounts, pages and the database log. One small package a page or a thing."""
