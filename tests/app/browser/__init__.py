"""What is seen and touched: the bench in a real browser, against a real server."""
