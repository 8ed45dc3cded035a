"""HTTP and HTML: routes, forms, views and rendering."""
