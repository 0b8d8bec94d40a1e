"""Pictures of pixels as artwork: opened within limits, their tones set, traced to outlines or kept to be screened."""
