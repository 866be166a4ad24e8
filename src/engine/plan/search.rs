//! search
