"""What the public test kit is made of, one kind of contribution a file; `recommender.plugin.testing` is its door."""
