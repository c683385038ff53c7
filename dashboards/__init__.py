"""Faces: command line, rooms, notebooks and brief. They read the release and draw; they compute nothing."""
