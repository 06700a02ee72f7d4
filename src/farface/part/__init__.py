"""Turn a drawing's shapes into passes of firing points, and simulate the depth that they etch."""
