"""Values to files and back: the build document, printable and exchangeable forms."""
