"""One answer over two things that may vary."""
