"""What a cook that is over shows: facts, scores against what came true, figures over many cooks."""
