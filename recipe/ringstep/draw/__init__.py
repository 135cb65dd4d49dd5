"""Link diagrams and pictures of rings."""
