"""Line icons of one weight, drawn for this project."""
