"""What is asked of a plate beyond its verdict: where it could go, which number governs, what a survey tells."""
